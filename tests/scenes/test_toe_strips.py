"""Toe strips lie as a star, and she stands by them as their words say."""

import numpy as np
import pytest
from scenes.mesh import rotation
from scenes.spec import VIEW_YAW_DEG, ToeStrips
from scenes.toe_strips import corners, on_strips

STRIPS = ToeStrips(pos_m=(0.02, -0.01))
# two feet, 250 mm long and 80 mm wide, 120 mm apart from middle to middle, facing -y; subject frame
FOOT = np.array([[x, y, 0.0] for x in (-0.04, 0.04) for y in (-0.19, 0.06)])
FEET = np.concatenate([FOOT + [0.06, 0, 0], FOOT - [0.06, 0, 0]])


def test_the_front_strip_points_to_the_camera_and_the_right_one_to_image_right() -> None:
    front, right = (corners(STRIPS, view, 1.0) for view in ("front", "right"))
    assert front[2:, 1] == pytest.approx(-0.01 - 0.19)
    assert right[2:, 0] == pytest.approx(0.02 + 0.19)
    assert np.ptp(front[:, 0]) == pytest.approx(0.04)


def test_a_strip_printed_larger_is_longer() -> None:
    assert corners(STRIPS, "front", 1.03)[2, 1] == pytest.approx(-0.01 - 0.1957)


@pytest.mark.parametrize("view", ["front", "back"])
def test_astride_her_toes_end_where_the_strip_does(view) -> None:
    turn = rotation("z", VIEW_YAW_DEG[view])
    feet = FEET @ turn.T + on_strips(FEET, turn, view, STRIPS, (0.0, 0.0), 1.0)
    toes_y = feet[:, 1].min() if view == "front" else feet[:, 1].max()
    assert toes_y == pytest.approx(-0.2 if view == "front" else 0.18)
    assert feet[:, 0].mean() == pytest.approx(0.02)


@pytest.mark.parametrize("view", ["right", "left"])
def test_from_a_side_her_near_foot_is_along_the_far_edge_of_the_strip(view) -> None:
    turn = rotation("z", VIEW_YAW_DEG[view])
    feet = FEET @ turn.T + on_strips(FEET, turn, view, STRIPS, (0.0, 0.0), 1.0)
    toes_x = feet[:, 0].max() if view == "right" else feet[:, 0].min()
    assert toes_x == pytest.approx(0.21 if view == "right" else -0.17)
    assert feet[:, 1].min() == pytest.approx(-0.01 + 0.02 + 0.003)
    near = feet[:4] if view == "left" else feet[4:]  # her left foot is the nearer one when her left side faces the camera
    assert near[:, 1].min() == feet[:, 1].min()


def test_how_far_beside_the_marks_she_stands_is_as_told() -> None:
    by, off = (on_strips(FEET, np.eye(3), "front", STRIPS, off_m, 1.0) for off_m in ((0.0, 0.0), (0.004, -0.007)))
    np.testing.assert_allclose(off - by, [0.004, -0.007, 0.0])
