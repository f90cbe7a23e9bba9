"""Sides and names that everything else goes by."""

import pytest

from fitcheck.core.records import OTHER_SIDE, OUTWARDS, SIDE_VIEW, SIDES, Measurement, measurement_key


@pytest.mark.parametrize(
    ("id", "at", "side", "key"),
    [
        ("shoulder_seam_behind", "tip", "wearer_right", "shoulder_seam_behind_tip_R"),
        ("bust_mark_above", "", "wearer_left", "bust_mark_above_L"),
        ("waist_mark_above", "back", None, "waist_mark_above_back"),
        ("stature", "", None, "stature"),
    ],
)
def test_a_measurement_of_one_side_is_one_word(id, at, side, key):
    assert measurement_key(id, at, side) == key
    assert Measurement(id, at, side, None, 1.0, "mm", 1.0, {}).key == key


def test_sides_are_the_wearers_own():
    """x counts to her left, so outwards is up on her left and down on her right; each side faces the camera in the photo of its name."""
    assert {side: OUTWARDS[side] for side in SIDES} == {"wearer_left": 1, "wearer_right": -1}
    assert SIDE_VIEW == {"wearer_left": "left", "wearer_right": "right"}
    assert OTHER_SIDE == {"wearer_left": "wearer_right", "wearer_right": "wearer_left"}
