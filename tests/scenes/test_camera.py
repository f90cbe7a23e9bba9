"""The scene maker's camera against OpenCV's projection."""

import cv2
import numpy as np
import pytest
from scenes.camera import Camera, focal_px
from scenes.spec import CameraSpec


def test_pixels_are_those_of_opencv() -> None:
    spec = CameraSpec(dist=(-0.08, 0.03, 0.001, -0.002, 0.004), centre_offset_px=(7, -4), f_error_pct=1.5)
    cam = Camera(spec, np.random.default_rng(4))
    world = np.random.default_rng(5).uniform((-0.6, -0.3, 0), (0.6, 0.3, 1.8), (200, 3))
    turn, _ = cv2.Rodrigues(cam.rotation)
    expected, _ = cv2.projectPoints(world, turn, -cam.rotation @ cam.position, cam.matrix, cam.dist)
    np.testing.assert_allclose(cam.project(world), expected[:, 0], atol=1e-6)


def test_it_looks_at_the_wearer_upright() -> None:
    cam = Camera(CameraSpec(x_m=0.0, jitter=0.0, dist=(0, 0, 0, 0, 0)), np.random.default_rng(0))
    (aim, above, left) = cam.project(np.array([[0, 0, 0.85], [0, 0, 1.85], [0.3, 0, 0.85]]))
    np.testing.assert_allclose(aim, [749.5, 999.5], atol=1e-6)
    assert above[0] == pytest.approx(749.5)
    assert above[1] < 999.5 < left[0] + 250
    assert left[0] > 749.5
    np.testing.assert_allclose(cam.rotation @ cam.rotation.T, np.eye(3), atol=1e-12)


def test_the_equivalent_focal_length_goes_by_the_diagonal() -> None:
    assert focal_px(43.2666, (3000, 4000)) == pytest.approx(5000, abs=0.01)


def test_the_truth_repeats_the_camera() -> None:
    cam = Camera(CameraSpec(), np.random.default_rng(1))
    told = cam.as_dict()
    p = np.array([[0.1, -0.2, 1.3]])
    in_camera = np.array(told["R_world_to_cam"]) @ (p[0] * 1000) + np.array(told["t_mm"])
    px, _ = cv2.projectPoints(in_camera[None], np.zeros(3), np.zeros(3), np.array(told["K"]), np.array(told["dist"]))
    np.testing.assert_allclose(px[0, 0], cam.project(p)[0], atol=0.01)
