"""Where a camera stands and what its matrix says, by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.camera import FULL_FRAME_DIAGONAL_MM, Camera, CardHeight, Photo, Scale, pinhole

FACING = np.diag([1.0, -1.0, -1.0])  # card x to image right, y up, z towards the camera; camera y down, z away from it


def scale(**told) -> Scale:
    camera = Camera(pinhole(3000, (1500, 2000)), np.zeros(5), FACING, np.array([350.0, -20.0, 2900.0]))
    return Scale(camera, "card", 12, 2900.0, 0.2, 0.97, 0.0, 0.003, 0.01, 0.3, **told)


def test_a_camera_facing_the_card_stands_before_it():
    """The card's middle lies 350 mm to image right of the axis, 20 above it, 2900 before the camera: so the camera stands 350 to the
    left of the card, 20 below and 2900 before it."""
    assert scale().camera.eye_mm == pytest.approx([-350, -20, 2900])


def test_the_axis_meets_the_middle_of_the_picture():
    """1500 by 2000 pixels, their centres at whole numbers: the middle is at 749.5, 999.5."""
    assert pinhole(3000, (1500, 2000)).tolist() == [[3000, 0, 749.5], [0, 3000, 999.5], [0, 0, 1]]


def test_the_diagonal_of_a_full_frame():
    assert pytest.approx(43.27, abs=0.01) == FULL_FRAME_DIAGONAL_MM


def test_how_high_a_leaning_card_is():
    """Known to 3 mm upright, 1200 mm more for a radian of lean, and a lean known to 0.25 degrees: 5.2 mm of it, 6.0 together."""
    leaning = scale(above_floor=CardHeight(1120.0, 3.0, by_tilt_mm=1200.0), hang_sd_deg=0.25)
    assert leaning.above_floor_sd_mm == pytest.approx(math.hypot(3.0, 5.236), abs=1e-3)
    assert scale(above_floor=CardHeight(1120.0, 3.0), hang_sd_deg=0.25).above_floor_sd_mm == 3.0
    assert math.isnan(scale().above_floor_sd_mm)


def test_the_grey_picture_is_made_once_and_cannot_be_written_to():
    """Grey is 0.299 of red, 0.587 of green, 0.114 of blue (ITU-R BT.601)."""
    photo = Photo("front", "front.jpg", "", np.full((2, 3, 3), [200, 100, 50], np.uint8), None, "")
    assert photo.grey.tolist() == [[124] * 3] * 2  # 59.8 + 58.7 + 5.7
    assert photo.grey is photo.grey
    with pytest.raises(ValueError, match="read-only"):
        photo.grey[0, 0] = 0
    assert replace(photo, rgb=photo.rgb[:1]).grey.shape == (1, 3)
