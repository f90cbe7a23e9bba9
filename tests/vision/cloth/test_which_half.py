"""Which half is worn, on drawn trunks."""

import numpy as np
import pytest
from vision.cloth_scene import half_photograph, photograph, pose

from fitcheck.core.camera import Photo
from fitcheck.core.records import Side, View
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.which_half import Covered, both_covered, covered, image_side, one_sided, which_half

MIDDLE = np.array([[280.0, 0.0], [280.0, 759.0]])
NOTHING: dict[Side, float] = {"wearer_left": 0.0, "wearer_right": 0.0}
MUSLIN, TISSUE = (226, 220, 204), (202, 172, 130)


def photo(rgb: np.ndarray, view: View = "front") -> Photo:
    return Photo(view, "", "", rgb, None, "")


def test_her_right_lies_at_image_left_of_a_front_view_only() -> None:
    assert image_side("wearer_right", "front") == -1
    assert image_side("wearer_right", "back") == 1
    assert image_side("wearer_left", "front") == 1


def test_a_whole_garment_covers_both_sides() -> None:
    for colour in (MUSLIN, TISSUE, (120, 150, 190)):
        rgb = photograph(colour)
        assert both_covered(find_cloth(rgb, pose()), pose(), "front")
        assert not one_sided([covered(photo(rgb), pose())])


@pytest.mark.parametrize("view", ["front", "back"])
@pytest.mark.parametrize("tissue_left", [True, False])
@pytest.mark.parametrize("colour", [MUSLIN, TISSUE])
def test_a_half_tissue_is_told_by_its_side(view: View, tissue_left: bool, colour: tuple[int, int, int]) -> None:
    rgb = half_photograph(colour, MIDDLE, tissue_left)
    seen = [covered(photo(rgb, view), pose())]
    expected = "wearer_right" if tissue_left == (view == "front") else "wearer_left"
    assert one_sided(seen)
    assert which_half(seen, NOTHING) == (expected, True)
    assert not both_covered(find_cloth(rgb, pose()), pose(), view)


def test_views_that_contradict_each_other_are_not_plain() -> None:
    left, right = (covered(photo(half_photograph(TISSUE, MIDDLE, side)), pose()) for side in (True, False))
    assert not which_half([left, right], NOTHING)[1]
    assert which_half([], NOTHING) == (None, False)
    assert not one_sided([])


def test_lines_are_drawn_on_the_tissue() -> None:
    """Beside a leotard of one colour only the lines tell."""
    leotard = [Covered({"wearer_left": 1.0, "wearer_right": 1.0}, {"wearer_left": 0.0, "wearer_right": 0.0})]
    assert one_sided(leotard)
    assert which_half(leotard, {"wearer_left": 900.0, "wearer_right": 60.0}) == ("wearer_left", True)
    assert not which_half(leotard, {"wearer_left": 200.0, "wearer_right": 0.0})[1]
    assert not which_half(leotard, {"wearer_left": 900.0, "wearer_right": 700.0})[1]
