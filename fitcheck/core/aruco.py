"""The printed squares as cells: ArUco DICT_4X4_100, 4 x 4 bits within a black rim."""

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
CELLS = 6  # along a square, its black rim included


@cache
def white_cells(number: int) -> NDArray[np.bool_]:
    """Which cells of a square are white, and one cell of the paper around it, shape (8, 8); the first row is the upper one."""
    white = np.pad(np.asarray(cv2.aruco.generateImageMarker(DICTIONARY, number, CELLS)) > 127, 1, constant_values=True)
    white.setflags(write=False)
    return white
