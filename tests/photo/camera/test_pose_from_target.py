"""The fit's own model against OpenCV's projection and against differences, and the fit on corners without error."""

import cv2
import numpy as np
import pytest

from fitcheck.core.points import card_corners_mm
from fitcheck.photo.camera.flat_target import Corners, Edges, FlatTarget, inward
from fitcheck.photo.camera.lens import FIXED, Lens
from fitcheck.photo.camera.pose_from_target import _leaning, fit_flat_edges, fit_flat_pose

FLAT_MM = card_corners_mm()[:, :, :2]
AT = np.array([3.0, 0.1, 0.2, 0.05, -0.1, 0.02, 0.3, -0.03, 0.05, 0.02])


def target(normals=None):
    corners_px = FLAT_MM * [1, -1] + 700
    flat, inwards = FLAT_MM.reshape(-1, 2), inward(corners_px).reshape(-1, 2)
    return FlatTarget(flat, corners_px.reshape(-1, 2), inwards, (1500, 2000), 3000.0, normals=normals)


@pytest.mark.parametrize("unknown", range(10))
@pytest.mark.parametrize("edges", [False, True])
def test_slopes_are_those_of_differences(unknown, edges):
    around = np.linspace(0, 5, 48)
    seen = target(np.column_stack([np.cos(around), np.sin(around)]) if edges else None)
    step = np.zeros(10)
    step[unknown] = 1e-6
    moved = (seen.misfit(AT + step, 2900.0)[0] - seen.misfit(AT - step, 2900.0)[0]) / 2e-6
    assert seen.misfit(AT, 2900.0)[1][:, unknown] == pytest.approx(moved, rel=1e-5, abs=1e-4)
    leaned = (_leaning(AT + step)[0] - _leaning(AT - step)[0]) / 2e-6
    assert _leaning(AT)[1][:, unknown] == pytest.approx(leaned, abs=1e-6)


@pytest.mark.parametrize("k1", [-0.05, 0.0, 0.04])
def test_exact_corners_of_a_bent_picture_give_the_exact_camera(k1):
    matrix = np.array([[2800.0, 0, 749.5], [0, 2800.0, 999.5], [0, 0, 1]])
    rotation = np.diag([1.0, -1.0, -1.0]) @ cv2.Rodrigues(np.array([0.06, -0.1, 0.01]))[0]
    shift = np.array([380.0, -150.0, 2700.0])
    seen, _ = cv2.projectPoints(card_corners_mm().reshape(-1, 3), cv2.Rodrigues(rotation)[0], shift, matrix, np.array([k1, 0, 0, 0, 0]))
    pose = fit_flat_pose(Corners(FLAT_MM, seen.reshape(12, 4, 2)), 0.001, (1500, 2000), Lens(2800.0, FIXED))
    assert pose.rms_px < 0.002
    assert pose.k1 == pytest.approx(k1, abs=2e-4)
    assert pose.translation_mm == pytest.approx(shift, abs=0.5)
    assert pose.rotation == pytest.approx(rotation, abs=2e-4)


def test_exact_edges_give_the_exact_camera_however_they_are_seen_along_their_run():
    """Upright and level edges, each shifted along itself, which tells nothing, all moved 0.2 px into the dark by the light."""
    matrix = np.array([[2800.0, 0, 749.5], [0, 2800.0, 999.5], [0, 0, 1]])
    rotation = np.diag([1.0, -1.0, -1.0]) @ cv2.Rodrigues(np.array([0.06, -0.1, 0.01]))[0]
    shift, lens = np.array([380.0, -150.0, 2700.0]), np.array([-0.03, 0, 0, 0, 0])
    middles = np.tile(FLAT_MM.reshape(-1, 2), (2, 1))
    across = np.repeat([[1.0, 0.0], [0.0, 1.0]], 48, axis=0) * np.tile([[1.0], [-1.0]], (48, 1))

    def seen(flat):
        solid = np.pad(flat, ((0, 0), (0, 1)))
        return cv2.projectPoints(solid, cv2.Rodrigues(rotation)[0], shift, matrix, lens)[0].reshape(-1, 2)

    along = np.random.default_rng(5).normal(0, 0.5, (96, 1)) * across[:, ::-1]
    run = seen(middles + along) - seen(middles - along)
    normals = run[:, ::-1] * [1, -1] / np.linalg.norm(run, axis=1, keepdims=True)
    normals *= np.sign((normals * (seen(middles + across) - seen(middles))).sum(axis=1, keepdims=True))
    corners = seen(FLAT_MM.reshape(-1, 2)).reshape(12, 4, 2)
    noisy = Corners(FLAT_MM, corners + np.random.default_rng(2).normal(0, 0.2, corners.shape))
    rough = fit_flat_pose(noisy, 0.1, (1500, 2000), Lens(2800.0, FIXED))
    found = Edges(middles, seen(middles + along) - 0.2 * normals, normals)
    pose = fit_flat_edges(found, 0.001, (1500, 2000), Lens(2800.0, FIXED), rough)
    assert pose.inset_px == pytest.approx(0.2, abs=0.01)
    assert pose.k1 == pytest.approx(-0.03, abs=3e-4)
    assert pose.translation_mm == pytest.approx(shift, abs=0.5)
    assert pose.rotation == pytest.approx(rotation, abs=2e-4)
    assert pose.rms_px < 0.01
    assert pose.matrix == pytest.approx(matrix, rel=1e-5)


def test_uncertainty_is_that_of_repeated_noise():
    """Forty draws of independent corner noise: the scatter of the size agrees with its standard uncertainty, correlation factor apart."""
    matrix = np.array([[3000.0, 0, 749.5], [0, 3000.0, 999.5], [0, 0, 1]])
    rotation = np.diag([1.0, -1.0, -1.0]) @ cv2.Rodrigues(np.array([0.05, 0.1, 0.0]))[0]
    seen, _ = cv2.projectPoints(card_corners_mm().reshape(-1, 3), cv2.Rodrigues(rotation)[0], np.array([350.0, -100, 2800]), matrix, None)
    noise = np.random.default_rng(3)
    fits = [
        fit_flat_pose(
            Corners(FLAT_MM, (seen[:, 0] + noise.normal(0, 0.1, (48, 2))).reshape(12, 4, 2)), 0.1, (1500, 2000), Lens(3000.0, FIXED)
        )
        for _ in range(40)
    ]
    scatter = np.std([np.log(fit.translation_mm[2]) for fit in fits])
    assert 0.3 < scatter / fits[0].size_sd < 0.8  # half, as CORRELATED is 2
    assert np.std([fit.rotation[2, 1] for fit in fits]) < np.radians(fits[0].pitch_sd_deg)
