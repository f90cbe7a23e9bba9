"""What is known beforehand, row by row."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.parameters import DEPTH, number_parameters
from fitcheck.body.prior_rows import known, tied
from fitcheck.body.shape import body_shape
from fitcheck.core.camera import CardHeight, FloorSeen
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import SIDES
from fitcheck.core.solution import Tie

KEY = ("bust_mark", "wearer_left")
TIE = Tie(KEY, ("bust_point", "wearer_left"), np.array([0.0, 5.0, 6.0]), np.array([2.0, 2.0, 2.0]))


def problem(scales, ties=()):
    body = body_shape()
    at = number_parameters((*body.keys, *(tie.point for tie in ties)), tuple(scales), body, [], {})
    x = np.zeros(at.size)
    x[: 3 * len(body.keys)] = body.points.ravel()
    x[at.stature] = 1.0
    return at, x, known(at, scales, ties, {})


def test_a_tie_is_met_where_it_says_and_missed_by_its_sds_elsewhere():
    at, x, rows = problem({"front": rig.scale_at()}, [TIE])
    anchor = x[3 * at.number["bust_point", "wearer_left"] :][:3]
    x[3 * at.number[KEY] :][:3] = tied(TIE, lambda key: anchor)
    assert rows.residuals(x)[0][rows.ties] == pytest.approx([0, 0, 0], abs=1e-9)
    x[3 * at.number[KEY] + 2] += 4.0  # 4 mm, two standard deviations
    assert rows.residuals(x)[0][rows.ties] == pytest.approx([0, 0, -2])


def test_a_joint_goes_with_the_arm_by_its_share():
    """The elbow 200 mm behind its shoulder: a joint that takes part in 0.04 of it lies 8 mm further back."""
    shoulder, elbow = ("shoulder_point", "wearer_left"), ("elbow", "wearer_left")
    tie = Tie(KEY, shoulder, np.array([0.0, -15.0, 2.0]), np.full(3, 2.0), swung_by=elbow, swing=np.array([0.0, 0.0, 0.04]))
    at, x, rows = problem({"front": rig.scale_at()}, [tie])
    x[3 * at.number[elbow] :][:3] = x[3 * at.number[shoulder] :][:3] + [90.0, -280.0, -200.0]
    joint = tied(tie, lambda key: x[3 * at.number[key] :][:3])
    assert joint - x[3 * at.number[shoulder] :][:3] == pytest.approx([0.0, -15.0, -6.0])
    x[3 * at.number[KEY] :][:3] = joint
    assert rows.residuals(x)[0][rows.ties] == pytest.approx([0, 0, 0], abs=1e-9)
    x[3 * at.number[elbow] + 2] += 100.0  # 4 mm of it are expected of the joint: two standard deviations
    assert rows.residuals(x)[0][rows.ties] == pytest.approx([0, 0, 2])


def test_a_point_on_the_floor_is_told_from_the_floor():
    floor = replace(TIE, on_floor=True)
    assert tied(floor, lambda key: np.array([100.0, 1200.0, 50.0])) == pytest.approx([100.0, 5.0, 56.0])


def test_a_card_of_known_height_places_her_feet():
    """The card's middle 1000 mm above the floor: the floor, where the body frame begins, lies 1000 mm below it."""
    scale = replace(rig.scale_at(), above_floor=CardHeight(1000.0, 2.0))
    at, x, rows = problem({"front": scale})
    floor = np.array([source == "floor" for source in rows.sources])
    assert floor.sum() == 1
    x[at.views["front"] + 4] = -1000.0
    assert rows.residuals(x)[0][floor] == pytest.approx([0.0])
    x[at.views["front"] + 4] = -994.0
    assert abs(rows.residuals(x)[0][floor]) == pytest.approx([3.0])
    assert not any(source == "floor" for source in problem({"front": rig.scale_at()})[2].sources)


def test_by_the_toe_strips_her_nearer_side_is_behind_the_line_of_the_sheets():
    """From her right, behind the strip: her right side seam 45 mm farther than the sheets is as expected, 95 mm two standard deviations."""
    scale = replace(rig.scale_at(), floor=FloorSeen(("left", "right"), 12, None))
    at, x, rows = problem({"right": scale})
    side_x = x[3 * at.number["waist_side", "wearer_right"]]
    assert side_x < -100  # her right, towards the camera
    depth = at.views["right"] + DEPTH
    (row,) = np.flatnonzero(((rows.columns == depth) & (rows.factors != 0)).any(axis=1))
    x[depth] = -45.0 + side_x
    assert rows.residuals(x)[0][row] == pytest.approx(0.0)
    x[depth] = -95.0 + side_x
    assert rows.residuals(x)[0][row] == pytest.approx(2.0)


def moved_up(scale, mm):
    """The same camera, told by a card that hangs so much higher."""
    camera = scale.camera
    return replace(scale, camera=replace(camera, translation_mm=camera.translation_mm + camera.rotation @ [0.0, mm, 0.0]))


@pytest.mark.parametrize("seen", [True, False])
def test_a_card_moved_for_one_photo_lowers_no_shoulder_once_its_stand_is_seen(seen):
    """Hung 23 mm higher in the right photo: her right shoulder looks 23 mm lower, until the stand says that the card is."""
    still = replace(rig.scale_at(), above_floor=CardHeight(1120.0, 3.0))
    scales = {view: still for view in ("front", "right", "back", "left")}
    scales["right"] = replace(moved_up(still, 23.0), above_floor=CardHeight(1143.0 if seen else 1120.0, 5.0 if seen else 3.0))
    sightings = rig.sightings(rig.body(), still, {})
    side_views = [s for s in sightings if s.view in ("right", "left", "back")]
    body = adjust(Evidence(scales, side_views))
    lower = body.position("shoulder_point", "wearer_left")[1] - body.position("shoulder_point", "wearer_right")[1]
    assert abs(lower) < 2.0 if seen else lower > 8.0


def test_what_strays_alike_on_both_sides_counts_once_in_common_and_hardly_against_itself():
    """Two ties of sd 2 mm and correlation 0.9: both 4 mm up is 4 / sqrt(2 * 1.9) = 2.05 sd; one up and one down 4 / sqrt(2 * 0.1) = 8.9."""
    ties = [replace(TIE, point=("bust_mark", side), anchor=("bust_point", side), alike=np.array([0.0, 0.9, 0.0])) for side in SIDES]
    at, x, rows = problem({"front": rig.scale_at()}, ties)
    for tie in ties:
        x[3 * at.number[tie.point] :][:3] = tied(tie, lambda key: x[3 * at.number[key] :][:3])
    assert rows.residuals(x)[0][rows.ties] == pytest.approx(np.zeros(6), abs=1e-9)
    for left, right, expected in ((4.0, 4.0, 2.05), (4.0, -4.0, 8.94)):
        moved = x.copy()
        moved[3 * at.number["bust_mark", "wearer_left"] + 1] += left
        moved[3 * at.number["bust_mark", "wearer_right"] + 1] += right
        assert np.linalg.norm(rows.residuals(moved)[0][rows.ties]) == pytest.approx(expected, abs=0.01)


def test_sideways_alike_means_outwards_on_both_sides():
    ties = [replace(TIE, point=("bust_mark", side), anchor=("bust_point", side), alike=np.array([0.9, 0.0, 0.0])) for side in SIDES]
    at, x, rows = problem({"front": rig.scale_at()}, ties)
    for tie in ties:
        x[3 * at.number[tie.point] :][:3] = tied(tie, lambda key: x[3 * at.number[key] :][:3])
    x[3 * at.number["bust_mark", "wearer_left"]] += 4.0
    x[3 * at.number["bust_mark", "wearer_right"]] -= 4.0  # outwards too
    assert np.linalg.norm(rows.residuals(x)[0][rows.ties]) == pytest.approx(2.05, abs=0.01)
