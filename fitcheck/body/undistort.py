"""Pixels as a lens that bends nothing would have them."""

import cv2
import numpy as np

from fitcheck.core.camera import Camera
from fitcheck.core.records import Floats


def undistorted(camera: Camera, pixels: Floats) -> Floats:
    """Pixels (N, 2) of the photo, moved to where the same camera without its lens' bending would show them."""
    if not len(pixels):
        return np.zeros((0, 2))
    moved = cv2.undistortPoints(pixels.reshape(-1, 1, 2), camera.matrix, camera.distortion, P=camera.matrix)
    return np.asarray(moved.reshape(-1, 2), np.float64)
