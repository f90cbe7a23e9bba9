"""The camera that a sheet or the wearer's height gives, against hand-worked numbers and OpenCV's projection."""

import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.errors import UsageError
from fitcheck.core.records import Pose
from fitcheck.photo.without_card.other_scales import scale_from_corners, scale_from_height

from ..conftest import Card


def angle_deg(a: np.ndarray, b: np.ndarray) -> float:
    return np.degrees(np.arccos(np.clip((np.trace(a @ b.T) - 1) / 2, -1, 1)))


def flat_photo(focal_px: float | None = 2500.0) -> Photo:
    return Photo("front", "front.jpg", "", np.zeros((2000, 1500, 3), np.uint8), focal_px, "")


def test_hand_worked_bank_card():
    # ISO/IEC 7810 ID-1 is 85.60 x 53.98 mm. Lying, at 2000 mm through f = 2500 px: 107.0 x 67.475 px.
    corners = np.array([[-53.5, -33.7375], [53.5, -33.7375], [53.5, 33.7375], [-53.5, 33.7375]]) + [749.5, 999.5]
    scale = scale_from_corners(flat_photo(), corners, "id1")
    assert scale.source == "id1"
    assert scale.mm_per_px == pytest.approx(0.8, rel=1e-3)
    assert scale.camera.translation_mm[2] == pytest.approx(2000, rel=1e-3)
    assert "scale_without_card" in scale.flags
    upright = scale_from_corners(flat_photo(), (corners - [749.5, 999.5])[:, ::-1][[0, 3, 2, 1]] + [749.5, 999.5], "id1")
    assert upright.mm_per_px == pytest.approx(0.8, rel=1e-3)


@pytest.mark.parametrize(("size", "width_mm", "height_mm"), [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)])
def test_sheet_corners_with_a_known_camera(size, width_mm, height_mm):
    card = Card(distance_mm=2800, right_mm=300, yaw_deg=6, pitch_deg=4, focal_px=2500.0)
    half = np.array([[-1, 1, 0], [1, 1, 0], [1, -1, 0], [-1, -1, 0]]) * [width_mm / 2, height_mm / 2, 0]
    scale = scale_from_corners(flat_photo(), card.project(half), size)
    assert scale.mm_per_px == pytest.approx(2800 / 2500, rel=0.005)
    assert angle_deg(scale.camera.rotation, card.rotation) < 4  # four clicked corners say little about the tilt
    assert scale.scale_sd > 0.003
    assert scale.plumb_sd_deg > 1.5


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        ([[0, 0], [100, 0], [100, 100]], "four corners"),
        ([[100, 100], [100, 300], [300, 300], [300, 100]], "clockwise"),
        ([[300, 300], [100, 300], [100, 100], [300, 100]], "clockwise"),
        ([[100, 100], [5000, 100], [5000, 300], [100, 300]], "outside the photo"),
        ([[100, 100], [103, 100], [103, 105], [100, 105]], "too small"),
    ],
)
def test_impossible_sheet_corners_are_refused(corners, says):
    with pytest.raises(UsageError, match=says):
        scale_from_corners(flat_photo(), np.array(corners, float), "a4")
    with pytest.raises(UsageError, match="sheet size"):
        scale_from_corners(flat_photo(), np.zeros((4, 2)), "a5")


def standing(crown_row: int, heel_row: int, last_row: int) -> Pose:
    mask = np.zeros((2000, 1500), np.bool_)
    mask[crown_row : last_row + 1, 600:900] = True
    points = np.full((33, 2), [750.0, 1000.0])
    points[[29, 30], 1] = heel_row
    return Pose(points, np.zeros((33, 3)), np.ones(33), mask)


def test_hand_worked_height():
    # 1725 mm with the heel's mark 25 mm above the sole: 1700 mm from row 100 to row 1800 is 1 mm a pixel, through f = 2500 px 2500 mm
    # away. Toes reach lower and do not count.
    scale = scale_from_height(flat_photo(), standing(100, 1800, 1860), 1725.0)
    assert scale.mm_per_px == pytest.approx(1.0)
    assert scale.camera.translation_mm[2] == pytest.approx(2500.0)
    assert scale.scale_sd >= 0.02
    assert {"scale_without_card"} <= set(scale.flags)
    crown = scale.camera.matrix @ (scale.camera.rotation @ np.array([0, 850.0, 0]) + scale.camera.translation_mm)
    assert crown[1] / crown[2] == pytest.approx(100, abs=1)


def test_height_needs_head_and_feet():
    assert scale_from_height(flat_photo(), standing(0, 1800, 1860), 1700.0) is None
    assert scale_from_height(flat_photo(), standing(100, 2100, 1999), 1700.0) is None
    with pytest.raises(UsageError, match="height"):
        scale_from_height(flat_photo(), standing(100, 1800, 1860), 165.0)
