"""Strips of a photo: where rows of points are seen, what is seen there, and how much it changes."""

import cv2
import numpy as np
import pytest

from fitcheck.core.camera import Camera
from fitcheck.photo.stand.edge_strips import change_along, levels_at, pixels_of_rows

# 2000 mm before the card's middle, f = 1000 px, looking straight at it: 2 mm a pixel on the card's plane.
STRAIGHT = Camera(
    np.array([[1000.0, 0, 300], [0, 1000.0, 400], [0, 0, 1]]), np.zeros(5), np.diag([1.0, -1.0, -1.0]), np.array([0, 0, 2000.0])
)
ACROSS = np.array([-100.0, -50.0, 0.0, 50.0, 100.0])


def test_hand_worked_rows():
    """On the card's plane 100 mm are 50 px; 200 mm up is 100 px up; 1000 mm nearer everything is twice as large."""
    px, inside = pixels_of_rows(STRAIGHT, np.array([[0.0, 0, 0], [20.0, 200, 0], [0.0, 200, 1000]]), ACROSS, (800, 600, 3))
    assert px[0] == pytest.approx(np.array([[250, 400], [275, 400], [300, 400], [325, 400], [350, 400]]), abs=1e-3)
    assert px[1] == pytest.approx(np.array([[260, 300], [285, 300], [310, 300], [335, 300], [360, 300]]), abs=1e-3)
    assert px[2, [0, 4]] == pytest.approx(np.array([[200, 200], [400, 200]]), abs=1e-3)
    assert inside.all()


def test_what_lies_beyond_the_picture_is_told():
    """Columns 250 to 350 in a picture 320 px wide: the last two are outside, also those on its rim."""
    _, inside = pixels_of_rows(STRAIGHT, np.array([[0.0, 0, 0], [0.0, 798.5, 0]]), ACROSS, (800, 320, 3))
    assert inside.tolist() == [[True, True, True, False, False], [False] * 5]


def test_a_bent_lens_and_a_turned_camera_are_followed():
    """Against OpenCV's own projection of every point: under a tenth of a pixel."""
    turn = np.diag([1.0, -1.0, -1.0]) @ cv2.Rodrigues(np.array([0.05, -0.15, 0.02]))[0]
    bent = Camera(STRAIGHT.matrix, np.array([-0.08, 0.02, 0, 0, 0]), turn, STRAIGHT.translation_mm)
    across = np.linspace(-300, 300, 61)
    middles = np.array([[40.0, -900, -100], [0.0, -500, 100]])
    px, _ = pixels_of_rows(bent, middles, across, (1600, 600, 3))
    every = middles[:, None] + np.stack([across, np.zeros(61), np.zeros(61)], axis=1)
    exact = cv2.projectPoints(every.reshape(-1, 3), cv2.Rodrigues(turn)[0], bent.translation_mm, bent.matrix, bent.distortion)[0]
    assert np.abs(px - exact.reshape(2, 61, 2)).max() < 0.1


def test_the_picture_between_its_pixels():
    """A ramp of 2 grey levels a column: half way between columns 10 and 11 it is 21."""
    rgb = np.repeat((2 * np.arange(50, dtype=np.uint8))[None, :, None], 20, axis=0).repeat(3, axis=2)
    seen = levels_at(np.ascontiguousarray(rgb), np.array([[[10.5, 5.0], [20.0, 8.5]]], np.float32))
    assert seen == pytest.approx(np.array([[[21.0] * 3, [40.0] * 3]]), abs=0.6)  # OpenCV rounds to grey levels


def test_change_over_two_steps():
    values = np.array([[0.0, 1.0, 3.0, 2.0], [5.0, 5.0, 5.0, 5.0], [0.0, 9.0, 1.0, 2.0]])
    assert change_along(values, 1).tolist() == [[0, 3, 1, 0], [0, 0, 0, 0], [0, 1, 7, 0]]
    assert change_along(values, 0).tolist() == [[0, 0, 0, 0], [0, 8, 2, 0], [0, 0, 0, 0]]
