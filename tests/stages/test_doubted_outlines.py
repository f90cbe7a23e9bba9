"""Outlines that no one body explains are doubted as much as they disagree; those that agree are left as they are."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.body.adjust import adjust
from fitcheck.stages.cross_check import WELL_AGREED, as_sure_as_agreed
from fitcheck.stages.solve import evidence_of


def waved(outline):
    """Edges that swing by 12 px from row to row, as before a shelf full of books."""
    swing = 12 * np.where(np.arange(outline.edges_px.shape[1]) // 3 % 2, 1.0, -1.0)
    return replace(outline, edges_px=outline.edges_px + swing)


def test_outlines_of_a_plain_room_are_left_as_they_are(staged):
    assert as_sure_as_agreed(staged.fitting) is staged.fitting


def test_outlines_that_swing_are_doubted_and_the_body_with_them(staged):
    photos = tuple(photo if photo.outline is None else replace(photo, outline=waved(photo.outline)) for photo in staged.fitting.photos)
    body = adjust(evidence_of(photos), staged.fitting.body)
    level = body.misfit / (WELL_AGREED * len(body.views))
    assert level > 1.5
    found = as_sure_as_agreed(replace(staged.fitting, photos=photos, body=body))
    for before, after in zip(photos, found.photos, strict=True):
        if before.outline is not None:
            assert after.outline.sds_px == pytest.approx(before.outline.sds_px * np.sqrt(level), nan_ok=True)
    assert found.body.misfit < body.misfit
