"""Folds in millimetres, and whose side they lie on: her left is at image right from the front, at image left from the back."""

import numpy as np
import pytest
from hand_made import L, R

from fitcheck.core.folds import Fold
from fitcheck.core.solution import Solution, ViewPlacement
from fitcheck.measure.fold_frame import BodyPlaces, Frame, line_of, places_in

# 2 mm to a pixel; her shoulders 300 mm and hips 360 mm apart, the midline leaning 20 mm to image right over 500 mm down
POINTS = {
    "shoulder_point": ((100, 150), (250, 150)),
    "underarm_point": ((105, 190), (245, 190)),
    "hip_side": ((95, 400), (275, 400)),
}


def frame(view):
    at_image_left, at_image_right = (R, L) if view == "front" else (L, R)
    points = {}
    for name, (left, right) in POINTS.items():
        points[name, at_image_left], points[name, at_image_right] = np.array(left), np.array(right)
    return Frame(BodyPlaces(view, points, 2.0))


def fold(*points_px):
    points = np.array(points_px, float)
    return Fold("front", "ridge", points, 100.0, 0.0, 10.0, 3.0, 1.0, "loose")


def test_points_are_in_millimetres():
    front = frame("front")
    assert front.at("shoulder_point", L).tolist() == [500, 300]
    assert front.level("hip_side") == 800
    assert front.armhole(R).tolist() == pytest.approx([205, 340])  # half way from shoulder point to underarm
    assert np.isnan(front.at("crown", None)).all()


def test_the_midline_runs_from_between_the_shoulders_to_between_the_hips():
    front = frame("front")
    assert front.middle_x(300) == pytest.approx(350)
    assert front.middle_x(800) == pytest.approx(370)
    assert front.middle_x(550) == pytest.approx(360)


@pytest.mark.parametrize(("view", "at_image_right"), [("front", L), ("back", R)])
def test_whose_side_a_fold_lies_on(view, at_image_right):
    here = frame(view)
    right, left = (line_of(0, fold((x, 200), (x, 260)), 2.0) for x in (230, 120))
    assert here.side_of(right) == at_image_right
    assert here.side_of(left) == (R if at_image_right == L else L)


@pytest.mark.parametrize(("view", "side"), [("right", R), ("left", L)])
def test_a_side_photo_shows_the_side_of_its_name(view, side):
    assert (
        Frame(BodyPlaces(view, {("shoulder_point", side): np.array([100, 100])}, 2.0)).side_of(line_of(0, fold((0, 0), (9, 9)), 2.0))
        == side
    )


def test_a_fold_as_a_line():
    line = line_of(3, fold((10, 10), (20, 30), (40, 50)), 2.0)
    assert (line.number, line.upper.tolist(), line.lower.tolist(), line.middle.tolist()) == (3, [20, 20], [80, 100], [50, 60])
    assert line.way.tolist() == [0.6, 0.8]


def test_near_is_within_a_hands_breadth():
    front = frame("front")
    tip = front.at("shoulder_point", R)
    assert front.near(tip + [45, 59], "shoulder_point", R)
    assert not front.near(tip + [45, 61], "shoulder_point", R)
    assert not front.near(tip, "shoulder_point", L)


def test_the_body_is_projected_into_each_photo_at_its_own_scale():
    """A camera of 1500 px, 3 m before two points, one 300 mm nearer: half way a pixel is 1.9 mm; her left lies at image right."""
    matrix = np.array([[1500, 0, 800], [0, 1500, 1000], [0, 0, 1.0]])
    placement = ViewPlacement(np.diag([1.0, -1.0, -1.0]), np.array([0.0, 1200.0, 3000.0]), matrix)
    keys = (("shoulder_point", L), ("hip_side", R))
    places = np.array([[200.0, 1400.0, 0.0], [-180.0, 1020.0, 300.0]])
    found = places_in(Solution(keys, places, np.zeros((0, 6)), (), np.zeros((6, 6)), {"front": placement}, {}, np.zeros(6)))["front"]
    assert found.mm_per_px == pytest.approx(1.9)
    assert found.points_px[keys[0]] == pytest.approx([900, 900])
    assert found.points_px[keys[1]] == pytest.approx([700, 1100])
