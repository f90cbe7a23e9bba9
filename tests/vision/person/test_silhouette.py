"""The trunk's edges: exact on a drawn figure, plausible on the sample photos."""

import numpy as np
import pytest
from vision.samples import sample, truth

from fitcheck.core.records import Pose
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.person.silhouette import torso_edges


def drawn_figure(edge_left=80.3, edge_right=160.8, arm=False):
    """A trunk with straight edges on a plain wall; a mask that is 3 px too wide; a pose at 0.5 px per mm."""
    height, width = 400, 240
    columns = np.arange(width)  # pixel c covers c - 0.5 .. c + 0.5
    inside = np.clip(columns + 0.5 - edge_left, 0, 1) - np.clip(columns + 0.5 - edge_right, 0, 1)
    rgb = np.broadcast_to((200 - 80 * inside)[None, :, None], (height, width, 3)).astype(np.uint8)
    mask = np.zeros((height, width), bool)
    mask[20:380, 77:165] = True
    points = np.zeros((33, 2))
    points[:] = [120, 60]
    points[[11, 13, 15, 17, 19, 21]] = [[150, 100], [230, 130], [235, 150], [235, 155], [235, 158], [235, 152]]
    points[[12, 14, 16, 18, 20, 22]] = [[90, 100], [10, 130], [5, 150], [5, 155], [5, 158], [5, 152]]
    points[[23, 24]] = [[140, 300], [100, 300]]
    points[25:] = [120, 370]
    if arm:
        points[[13, 15, 19]] = [[155, 180], [158, 260], [158, 280]]
    body = np.column_stack([points * 2, np.zeros(33)])
    return rgb, Pose(points, body, np.ones(33), mask)


def test_drawn_edges_to_a_quarter_pixel():
    rgb, pose = drawn_figure()
    outline = torso_edges(rgb, pose, [210.0, 250.0])
    left, right = outline.edges_px
    assert left == pytest.approx(80.3, abs=0.25)
    assert right == pytest.approx(160.8, abs=0.25)
    assert np.all(outline.sds_px < 1)


def test_no_edge_in_the_picture_means_a_large_sd():
    rgb, pose = drawn_figure()
    sharp = torso_edges(rgb, pose, [230.0])
    plain = torso_edges(np.full_like(rgb, 150), pose, [230.0])
    left, right = plain.edges_px
    assert np.all(plain.sds_px > 3 * sharp.sds_px)
    assert abs(left[0] - 77) < 1
    assert abs(right[0] - 164) < 1


def test_arm_hides_the_edge_and_rows_outside_are_nan():
    rgb, pose = drawn_figure(arm=True)
    left, right = torso_edges(rgb, pose, [210.0, -5.0, 1000.0]).edges_px
    assert np.isfinite(left[0])
    assert np.isnan(right[0])
    assert np.isnan([*left[1:], *right[1:]]).all()


@pytest.mark.parametrize("scene", ["control", "forward_shoulder"])
@pytest.mark.parametrize("view", ["front", "back"])
def test_waist_and_hip_outline_lie_just_outside_the_body(scene, view):
    """Cloth and sticker lie on the body's own point: 0 to 15 px outside it."""
    landmarks = truth(scene)["views"][view]["landmarks"]
    photo = sample(scene, view)
    pose = find_people(photo)
    for name in ("waist_side", "hip_side"):
        for side in "LR":
            x, y = landmarks[f"{name}_{side}"]["px"]
            left, right = torso_edges(photo.rgb, pose, [y]).edges_px
            outside = right[0] - x if (side == "L") == (view == "front") else x - left[0]
            assert -1 < outside < 15 or np.isnan(outside)


@pytest.mark.parametrize("view", ["right", "left"])
def test_bust_outline_in_the_side_view(view):
    landmarks = truth("control")["views"][view]["landmarks"]
    photo = sample("control", view)
    near, far = (landmarks[f"bust_point_{s}"]["px"] for s in ("RL" if view == "right" else "LR"))
    outline = torso_edges(photo.rgb, find_people(photo), [near[1]])
    left, right = outline.edges_px
    outside = right[0] - max(near[0], far[0]) if view == "right" else min(near[0], far[0]) - left[0]
    assert 0 < outside < 12
    assert outline.sds_px[1 if view == "right" else 0, 0] < 3
