"""The table of body points: sides mirror each other, joints are the wearer's own."""

import numpy as np
import pytest

from fitcheck.body.point_table import body_points, seen_points
from fitcheck.core.pose_joints import LEFT_SHOULDER, RIGHT_SHOULDER


def test_a_pair_faces_opposite_ways_and_x_counts_to_her_left():
    left, right = (body_points()["waist_side", side].normal for side in ("wearer_left", "wearer_right"))
    assert left[0] > 0.9
    assert left == pytest.approx(right * [-1, 1, 1])
    assert np.linalg.norm(left) == pytest.approx(1)


def test_each_side_is_seen_by_her_own_joint():
    joints = {s.side: s.pose_point for s in seen_points() if s.name == "shoulder_joint_from_front"}
    assert joints == {"wearer_left": LEFT_SHOULDER, "wearer_right": RIGHT_SHOULDER}
    hips = {s.side: s.offset_mm[0] for s in seen_points() if s.name == "hip_joint_from_front"}
    assert hips["wearer_left"] < 0 < hips["wearer_right"]  # joints lie inside the skin of the hips


def test_what_swings_names_the_point_that_it_swings_to():
    swung = {s.name: s.swung_by for s in seen_points() if s.side == "wearer_left" and s.swing.any()}
    assert swung["shoulder_joint_from_side"] == ("side_neck_point", "wearer_left")  # the joint is guessed by the trunk ...
    assert swung["shoulder_joint_from_front"] == ("elbow", "wearer_left")  # ... and goes with the arm
