"""Outlines that no one body explains are doubted as much as they disagree; those that agree are left as they are."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.body.adjust import adjust
from fitcheck.stages.cross_check import SKIRTED, WELL_AGREED, as_sure_as_agreed
from fitcheck.stages.solve import evidence_of, place


def waved(outline):
    """Edges that swing by 2 px every third row, as before a shelf full of books."""
    swing = 2.3 * np.where(np.arange(outline.edges_px.shape[1]) // 3 % 2, 1.0, -1.0)
    return replace(outline, edges_px=outline.edges_px + swing)


def test_outlines_of_a_plain_room_are_left_as_they_are(staged):
    assert as_sure_as_agreed(staged.fitting) is staged.fitting


def test_outlines_that_swing_are_doubted_and_the_body_with_them(staged):
    photos = tuple(photo if photo.outline is None else replace(photo, outline=waved(photo.outline)) for photo in staged.fitting.photos)
    body = adjust(evidence_of(photos), staged.fitting.body)
    level = body.misfit / (WELL_AGREED * len(body.views))
    assert 1.2 < level < SKIRTED / WELL_AGREED
    found = as_sure_as_agreed(replace(staged.fitting, photos=photos, body=body))
    for before, after in zip(photos, found.photos, strict=True):
        if before.outline is not None:
            assert after.outline.sds_px == pytest.approx(before.outline.sds_px * np.sqrt(level), nan_ok=True)
    assert found.body.misfit < body.misfit


def test_nothing_of_a_skirt_counts_for_the_body(staged):
    """On a woman without stickers, from 40 mm below the waist on it stands off by 20 mm and more the further down, and swings. Edges down
    to the waist are kept as they are, those below the hip are left out, and the waist lies where it lay."""

    def skirted(photo):
        view, outline = staged.fitting.body.views[photo.view], photo.outline
        waist = staged.fitting.body.position("waist_side", "wearer_left")
        mm_per_px = view.mm_per_px(waist)
        below_mm = np.maximum(0.0, (outline.rows_px - view.project(waist)[0, 1]) * mm_per_px - 40.0)
        off_px = np.where(below_mm > 0, 20.0 + 0.4 * below_mm + 12.0 * np.sin(below_mm / 6), 0.0) / mm_per_px
        return replace(photo, outline=replace(outline, edges_px=outline.edges_px + np.array([[-1.0], [1.0]]) * off_px))

    unmarked = tuple(replace(photo, stickers=(), dots=()) for photo in staged.fitting.photos)
    bare, photos = place(unmarked), tuple(skirted(photo) for photo in unmarked)
    believed = place(photos, bare)
    assert believed.misfit > SKIRTED * len(photos)
    found = as_sure_as_agreed(replace(staged.fitting, photos=photos, body=believed))
    for before, after in zip(photos, found.photos, strict=True):
        rows = before.outline.rows_px
        waist, hip = (
            believed.views[before.view].project(believed.position(name, "wearer_left"))[0, 1] for name in ("waist_side", "hip_side")
        )
        above, below = rows < waist, rows > hip
        assert below.any()
        assert np.isnan(after.outline.edges_px[:, below]).all()
        np.testing.assert_array_equal(after.outline.edges_px[:, above], before.outline.edges_px[:, above])
    there, kept = (body.position("waist_side", "wearer_left")[1] for body in (bare, found.body))
    assert kept == pytest.approx(there, abs=4)
