"""The top of the armhole on drawn shoulders: a bare arm under a light cloth, its top known."""

import cv2
import numpy as np
import pytest

from fitcheck.core.pose_joints import LEFT_SHOULDER, RIGHT_SHOULDER
from fitcheck.core.records import Pose
from fitcheck.vision.person.shoulder_top import shoulder_top

WALL, CLOTH, SKIN, PEN = (150, 160, 170), (225, 222, 214), (190, 140, 115), (40, 90, 190)
MM_PER_PX = 1.1
TOP = np.array([205.0, 180.0])


def shoulder(arm=SKIN, top=TOP):
    """A strap over the shoulder, and below it an arm whose upper end is an ellipse with its top at `top`; the pen's seam ends there."""
    big = np.full((1600, 1600, 3), WALL, np.uint8)
    x, y = (4 * top + 1.5).round().astype(int)
    cv2.ellipse(big, (x, y + 300), (330, 420), 0, 0, 360, CLOTH, -1, cv2.LINE_AA)
    cv2.line(big, (x + 20, y - 110), (x + 10, y), PEN, 16, cv2.LINE_AA)
    cv2.ellipse(big, (x, y + 300), (200, 300), 0, 0, 360, arm, -1, cv2.LINE_AA)
    small = cv2.resize(big, (400, 400), interpolation=cv2.INTER_AREA).astype(float)
    return np.clip(small + np.random.default_rng(3).normal(0, 1.5, small.shape), 0, 255).astype(np.uint8)


def pose(joint, xy):
    y, x = np.mgrid[:400, :400]
    on_her = ((x - TOP[0]) / 82) ** 2 + ((y - TOP[1] - 75) / 105) ** 2 < 1
    points = np.full((33, 2), 300.0)
    points[joint] = xy
    return Pose(points, np.zeros((33, 3)), np.ones(33), on_her)


@pytest.mark.parametrize(("view", "joint", "side"), [("right", RIGHT_SHOULDER, "wearer_right"), ("left", LEFT_SHOULDER, "wearer_left")])
@pytest.mark.parametrize("forward_px", [0, 15, 25])
def test_the_top_is_found_although_the_joint_lies_before_it(view, joint, side, forward_px):
    at = TOP + [forward_px * (1 if view == "right" else -1), 14]
    (found,) = shoulder_top(shoulder(), view, pose(joint, at), MM_PER_PX)
    assert (found.name, found.side, found.view) == ("shoulder_top", side, view)
    assert found.xy_px == pytest.approx(TOP, abs=2.0)
    assert np.abs(found.xy_px - TOP)[0] < 2.5 * found.sd_px


def test_a_sleeve_a_hidden_joint_and_a_front_view_show_none():
    bare, covered = shoulder(), shoulder(arm=CLOTH)
    assert shoulder_top(covered, "right", pose(RIGHT_SHOULDER, TOP + [0, 14]), MM_PER_PX) == ()
    assert shoulder_top(bare, "front", pose(RIGHT_SHOULDER, TOP + [0, 14]), MM_PER_PX) == ()
    guessed = pose(RIGHT_SHOULDER, TOP + [0, 14])
    guessed.visibility[RIGHT_SHOULDER] = 0.2
    assert shoulder_top(bare, "right", guessed, MM_PER_PX) == ()
