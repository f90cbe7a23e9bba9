"""How alike errors are, by cases worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.records import Measurement
from fitcheck.core.solution import Derived
from fitcheck.measure.likeness import with_likeness


def reading(id: str, at: str, sd: float, errors: tuple[float, ...]) -> tuple[Measurement, Derived]:
    return Measurement(id, at, "wearer_left", None, 0.0, "mm", sd, {}), Derived(0.0, sd, {}, np.array(errors))


def likeness(*readings: tuple[Measurement, Derived]) -> list[dict[str, float]]:
    return [dict(m.alike) for m in with_likeness([m for m, _ in readings], [d for _, d in readings])]


def test_two_readings_share_what_comes_from_one_row():
    """Errors of 3 mm from one source in common and 4 mm each of its own: sd 5 each, covariance 9, correlation 9 / 25."""
    first, second = likeness(reading("bust_mark_above", "", 5.0, (3, 4, 0)), reading("waist_mark_above", "side", 5.0, (3, 0, 4)))
    assert first == pytest.approx({"bust_mark_above_L": 1.0, "waist_mark_above_side_L": 0.36})
    assert second["bust_mark_above_L"] == pytest.approx(0.36)


def test_what_one_raises_and_the_other_lowers_is_contrary():
    first, _ = likeness(reading("bust_mark_above", "", 3.0, (3,)), reading("waist_mark_above", "side", 3.0, (-3,)))
    assert first["waist_mark_above_side_L"] == pytest.approx(-1.0)


def test_levels_of_one_seam_share_what_their_point_may_mean():
    """The fold under the arm may be meant 3 mm off: of sd 5 at both levels 4 are each level's own, so 9 / 25 are alike."""
    seam = [reading("side_seam_forward", at, 5.0, own) for at, own in (("waist", (4, 0, 0)), ("hip", (0, 4, 0)))]
    waist, *_ = likeness(*seam, reading("side_seam_tilt", "", 5.0, (0, 0, 4)))
    assert waist["side_seam_forward_hip_L"] == pytest.approx(0.36)
    assert waist["side_seam_tilt_L"] == pytest.approx(0.0)


def test_both_sides_stray_alike_in_what_is_measured_upwards_and_not_outwards():
    """Sd 5 each and nothing in common by the adjustment: of the height of both bust marks .6 is, as one symmetric body foretold them."""

    def pair(id: str) -> list[tuple[Measurement, Derived]]:
        left, right = (reading(id, "", 5.0, own) for own in ((5, 0), (0, 5)))
        return [left, (replace(right[0], side="wearer_right"), right[1])]

    assert likeness(*pair("bust_mark_above"))[0]["bust_mark_above_R"] == pytest.approx(0.6)
    assert likeness(*pair("bust_mark_outside"))[0]["bust_mark_outside_R"] == pytest.approx(0.0)


def test_nothing_measured_is_nothing():
    assert with_likeness([], []) == ()
