"""What is done by hand to the pieces of the upper body: 10 mm each, checked at the seam where a dressmaker would lay the tape."""

import math

import numpy as np
import pytest

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.recipes.recipe import Case
from fitcheck.pattern.recipes.upper import UPPER_BODY

BODY = Body()


def changed(id, amount=10.0, front="dart"):
    """The pieces before, and those altered by hand."""
    recipe = UPPER_BODY[id]
    pieces = recipe.block(BODY, front).pieces
    return pieces, {piece.name: piece for piece in recipe.change(Case(pieces, amount, BODY, False))}


def moved(before, after, name, edge, at):
    return after[name].edges[edge][at] - before[name].edges[edge][at]


def test_a_shoulder_seam_comes_forward_by_what_the_back_gains_and_the_front_loses():
    before, after = changed("forward_shoulder")
    back, front = (moved(before, after, name, "shoulder", 1) for name in ("back", "front"))
    assert np.hypot(*back) == pytest.approx(10)
    assert np.hypot(*front) == pytest.approx(10)
    assert back[1] < 0 < front[1]
    assert moved(before, after, "back", "shoulder", 0) == pytest.approx([0, 0])


def test_a_neck_that_comes_forward_lengthens_the_back_and_lowers_the_front_by_half():
    before, after = changed("neck_forward")
    assert moved(before, after, "back", "centre", -1) == pytest.approx([0, -10])
    assert moved(before, after, "front", "centre", -1) == pytest.approx([0, 5])


@pytest.mark.parametrize(("id", "up"), [("square_sloping_shoulder", 1), ("uneven_shoulders", -1)])
def test_a_square_shoulder_takes_tip_and_underarm_up_on_both_halves(id, up):
    before, after = changed(id)
    for name, side in (("back", "side"), ("front", "side_upper")):
        tip, underarm = moved(before, after, name, "shoulder", 1), moved(before, after, name, "armhole", -1)
        assert (np.hypot(*tip), np.hypot(*underarm)) == pytest.approx((10, 10))
        assert np.sign([tip[1], underarm[1]]).tolist() == [-up, -up]
        assert after[name].length(side) == pytest.approx(before[name].length(side) + 10 * up, abs=0.5)


def test_both_shoulders_are_ten_longer_when_they_are_broader():
    before, after = changed("narrow_broad_shoulder")
    for name in ("back", "front"):
        assert after[name].length("shoulder") - before[name].length("shoulder") == pytest.approx(10)


def angle_deg(at, one, two):
    """Between two legs that meet at a place."""
    one, two = one - at, two - at
    return math.degrees(math.acos(one @ two / np.hypot(*one) / np.hypot(*two)))


def test_what_is_folded_out_at_a_gaping_armhole_opens_the_dart_by_the_same_angle():
    before, after = changed("armhole_gape", 8.0)
    (wedge,) = (mark.points for mark in after["front"].marks if mark.kind == "lap")
    assert before["front"].length("armhole") - after["front"].length("armhole") == pytest.approx(8)
    darts = [
        angle_deg(piece.edges["dart_upper"][1], piece.edges["dart_upper"][0], piece.edges["dart_lower"][1])
        for piece in (before["front"], after["front"])
    ]
    assert darts[1] - darts[0] == pytest.approx(angle_deg(*wedge))


def test_a_gaping_armhole_is_taken_in_at_the_princess_seam():
    before, after = changed("armhole_gape", 8.0, "princess")
    shorter = sum(before[name].length("armhole") - piece.length("armhole") for name, piece in after.items())
    assert shorter == pytest.approx(8)


def test_without_a_dart_the_armhole_is_taped():
    before, after = changed("armhole_gape", 8.0, "none")
    assert before["front"].length("armhole") - after["front"].length("armhole") == pytest.approx(8)
    assert [mark.kind for mark in after["front"].marks if mark.kind == "tape"] == ["tape"]


def test_a_gaping_neck_is_shortened_by_what_gaped():
    before, after = changed("neckline_gape", 8.0)
    assert before["front"].length("neck") - after["front"].length("neck") == pytest.approx(8, abs=0.05)
