"""Printed patterns: the scale card and the square point markers (ArUco DICT_4X4_100), drawn without fitcheck's own code. Millimetres."""

from pathlib import Path

import cv2
import numpy as np

from .mesh import Floats
from .spec import Rgb

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
CARD_WIDTH, CARD_HEIGHT, CARD_MARKER, CARD_GAP, CARD_COLUMNS, CARD_ROWS = 210, 297, 45, 15, 3, 4  # A4; ids row by row from top left
POINT_MARKER, POINT_BORDER, DOT = 25, 3, 16  # black square, white border; diameter of a plain dot
STICKER = POINT_MARKER + 2 * POINT_BORDER
POINTER_REACH, POINTER_ID_STEP = 40, 40  # arrow tip from the marker's centre; id above the centred marker's
FLOOR_WIDTH, FLOOR_HEIGHT, FLOOR_MARKER, FLOOR_GAP, FLOOR_COLUMNS, FLOOR_ROWS = 297, 210, 80, 12, 3, 2  # A4 lying
FLOOR_TOP = 12  # from the sheet's upper edge, the one away from the camera, to the squares
FLOOR_FIRST_ID = {"left": 42, "right": 48}
BLACK, WHITE = 18, 240
TISSUE_M, INK, FONT = 0.34, 0.55, cv2.FONT_HERSHEY_SIMPLEX  # side of the stretch that is repeated; how dark its print is on the paper
MARKER_IDS = {
    "back_neck": 20,
    "front_neck": 21,
    "side_neck_L": 22,
    "side_neck_R": 23,
    "shoulder_point_L": 24,
    "shoulder_point_R": 25,
    "bust_point_L": 26,
    "bust_point_R": 27,
    "waist_front": 28,
    "waist_back": 29,
    "waist_side_L": 30,
    "waist_side_R": 31,
    "hip_side_L": 32,
    "hip_side_R": 33,
    "seat_back": 34,
}  # no underarm: the arm hides it


def card(path: Path, px_per_mm: int = 8) -> dict[int, Floats]:
    """Write the card's picture.

    Returns
    -------
    dict
        Marker corners (4, 2) on the sheet by id, mm from its top left, x right, y down.
    """
    image = np.full((CARD_HEIGHT * px_per_mm, CARD_WIDTH * px_per_mm), WHITE, np.uint8)
    pitch, side, out = CARD_MARKER + CARD_GAP, CARD_MARKER * px_per_mm, {}
    left, top = ((size - n * pitch + CARD_GAP) / 2 for size, n in ((CARD_WIDTH, CARD_COLUMNS), (CARD_HEIGHT, CARD_ROWS)))
    for number in range(CARD_COLUMNS * CARD_ROWS):
        row, column = divmod(number, CARD_COLUMNS)
        x, y = round((left + column * pitch) * px_per_mm), round((top + row * pitch) * px_per_mm)
        image[y : y + side, x : x + side] = _marker(number, side)
        out[number] = np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]]) / px_per_mm
    cv2.imwrite(str(path), image)
    return out


def floor_sheet(path: Path, which: str, px_per_mm: int = 6) -> dict[int, Floats]:
    """Write the picture of a floor sheet, `left` or `right`.

    Returns
    -------
    dict
        As `card`.
    """
    image = np.full((FLOOR_HEIGHT * px_per_mm, FLOOR_WIDTH * px_per_mm), WHITE, np.uint8)
    pitch, side, out = FLOOR_MARKER + FLOOR_GAP, FLOOR_MARKER * px_per_mm, {}
    left = (FLOOR_WIDTH - FLOOR_COLUMNS * pitch + FLOOR_GAP) / 2
    for k in range(FLOOR_COLUMNS * FLOOR_ROWS):
        row, column = divmod(k, FLOOR_COLUMNS)
        x, y = round((left + column * pitch) * px_per_mm), (FLOOR_TOP + row * pitch) * px_per_mm
        image[y : y + side, x : x + side] = _marker(FLOOR_FIRST_ID[which] + k, side)
        out[FLOOR_FIRST_ID[which] + k] = np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]]) / px_per_mm
    cv2.imwrite(str(path), image)
    return out


def tissue(path: Path, rgb: Rgb, px_per_m: int = 2500) -> None:
    """Write a stretch of pattern tissue, to be repeated: nested lines of four sizes, their numbers, and grain lines, in grey-brown ink.

    `rgb` is the paper's colour, linear.
    """
    size = round(TISSUE_M * px_per_m)
    paper = np.array([round(255 * (1.055 * c ** (1 / 2.4) - 0.055)) for c in rgb[::-1]], float)  # to sRGB
    ink = [float(c) for c in paper * INK]
    image = np.full((size, size, 3), paper.round(), np.uint8)
    rows = np.arange(0, size, 4)
    for k in range(4):  # one edge across and one upright, each drafted in four sizes, that meet themselves when repeated
        wave = np.sin(2 * np.pi * rows / size)
        across = np.stack([rows, 0.72 * size + 0.05 * size * wave + k * 0.012 * size], 1)
        upright = np.stack([0.30 * size + 0.06 * size * wave + k * 0.014 * size, rows], 1)
        for line in (across, upright):
            for begin in range(0, len(line), 12 + 4 * k):  # dashes of another length for every size
                part = line[begin : begin + 9 + 3 * k].round().astype(np.int32)
                cv2.polylines(image, [part.reshape(-1, 1, 2)], False, ink, 2, cv2.LINE_AA)
        cv2.putText(image, str(10 + 2 * k), (round((0.5 + 0.05 * k) * size), round(0.69 * size)), FONT, 1.1, ink, 2, cv2.LINE_AA)
    cv2.putText(image, "FRONT 1", (round(0.45 * size), round(0.2 * size)), FONT, 2.2, ink, 4, cv2.LINE_AA)
    cv2.arrowedLine(image, (round(0.62 * size), round(0.6 * size)), (round(0.62 * size), round(0.28 * size)), ink, 3, cv2.LINE_AA)
    cv2.imwrite(str(path), image)


def point_marker(path: Path, number: int, px_per_cell: int = 48) -> None:
    """Write the picture of one square sticker, 31 x 31 mm with its white border."""
    side = px_per_cell * 6
    border = round(side * POINT_BORDER / POINT_MARKER)
    image = np.full((side + 2 * border, side + 2 * border), WHITE, np.uint8)
    image[border : border + side, border : border + side] = _marker(number, side)
    cv2.imwrite(str(path), image)


def _marker(number: int, side: int) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    return np.where(cv2.aruco.generateImageMarker(DICTIONARY, number, side) > 127, WHITE, BLACK).astype(np.uint8)
