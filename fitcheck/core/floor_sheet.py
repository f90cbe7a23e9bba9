"""The printed floor sheets: their drawing and ids, in one place for printing and for finding.

Two sheets lie on the floor beside her feet, words towards the camera. Like the scale card they are ArUco `DICT_4X4_100`; their squares are
as large as A4 and Letter allow, because a camera sees the floor at 15 to 30 degrees only.
"""

from typing import Literal

import numpy as np

from fitcheck.core.records import Floats

SheetName = Literal["left", "right"]  # as the camera sees them; they stay where they are when she turns

FLOOR_COLUMNS, FLOOR_ROWS = 3, 2
FLOOR_MARKER_MM = 80.0
FLOOR_GAP_MM = 12.0
FLOOR_IDS: dict[SheetName, range] = {"left": range(42, 48), "right": range(48, 54)}  # row by row from the upper left
FLOOR_BAR_MM = 254.0  # the longest that both papers hold: 10 inches or 25.4 cm, easy to read on either ruler
# How far the print may be off, as a share, once the long bar was measured: an eighth of a millimetre, and paper takes up damp.
FLOOR_PRINT_SD = 0.0005
TOE_STRIP_MM = 190.0  # from the middle of the feet to the toes' ends: ankle to toe of a middling foot (estimate)


def floor_corners_mm() -> Floats:
    """Corners of a floor sheet's squares in the sheet's frame, the same on both sheets.

    Returns
    -------
    ndarray, shape (6, 4, 2)
        By place; ArUco's corner order (clockwise from the square's top left); x right, y up on the sheet, which is away from the camera;
        origin at the middle of the squares.
    """
    pitch = FLOOR_MARKER_MM + FLOOR_GAP_MM
    left, top = -(FLOOR_COLUMNS * pitch - FLOOR_GAP_MM) / 2, (FLOOR_ROWS * pitch - FLOOR_GAP_MM) / 2
    square = np.array([[0, 0], [1, 0], [1, -1], [0, -1]]) * FLOOR_MARKER_MM
    corner = np.array([[left + pitch * (k % FLOOR_COLUMNS), top - pitch * (k // FLOOR_COLUMNS)] for k in range(FLOOR_COLUMNS * FLOOR_ROWS)])
    return corner[:, None] + square
