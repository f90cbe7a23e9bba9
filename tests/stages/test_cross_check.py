"""Photos of two fittings mixed: the odd one is named and left out, and nothing is said that neither fitting supports."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fitcheck.core.records import VIEWS
from fitcheck.photo.load import load_photo
from fitcheck.pipeline import check_fit
from fitcheck.stages.cross_check import ODD, cross_checked, told_alike

SAMPLES = Path(__file__).parents[2] / "sample_images"


def test_photos_of_one_fitting_are_left_as_they_are(staged):
    assert cross_checked(staged.fitting) is staged.fitting


def test_every_photo_tells_the_card_the_figure_and_the_colour(staged):
    card, figure, colour = told_alike(staged.fitting)
    assert set(card.values) == set(figure.values) == set(colour.values) == set(VIEWS)
    assert np.ptp([float(value[0]) for value in card.values.values()]) < 10  # mm, one stand in all photos


def test_beside_a_half_tissue_every_side_shows_other_clothes(staged):
    assert told_alike(replace(staged.fitting, half="wearer_right"))[2].values == {}


def test_a_side_photo_cut_at_the_hip_is_no_other_woman():
    """It may be left out, but for what it lacks."""
    photos = [load_photo(SAMPLES / "control" / f"{view}.jpg", view) for view in VIEWS]
    cut = [replace(p, rgb=np.ascontiguousarray(p.rgb[: int(0.62 * p.rgb.shape[0])])) if p.view == "right" else p for p in photos]
    check = check_fit(cut)
    right = check.photos[VIEWS.index("right")]
    assert "cropped" in right.flags
    assert not {"different_person", ODD} & set(right.flags)
    assert [step.amount.id for step in check.round.steps] == []  # the control needs nothing


@pytest.mark.parametrize("odd", ["right", "left"])
def test_a_side_photo_of_another_fitting_is_named_and_left_out(odd):
    photos = [load_photo(SAMPLES / ("forward_shoulder" if view == odd else "control") / f"{view}.jpg", view) for view in VIEWS]
    check = check_fit(photos)
    assert {photo.photo.view for photo in check.photos if ODD in photo.flags} == {odd}
    assert all(m.view != odd for m in check.measurements)
    assert [step.amount.id for step in check.round.steps] == []  # the control needs nothing
