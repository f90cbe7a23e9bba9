"""The outermost printed line of a sheet of nested sizes: what lies outside it can be reached from the sheet's edge without crossing ink.

It parts the sheet into edges better than the sheet's own edge does: that is trimmed roughly, and hands and pins lie on it.
"""

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from fitcheck.core.records import Floats
from fitcheck.piece.ink import Ink

MM_PER_PX = 0.5
PRINTED = 0.35  # of print's darkness
GAP_MM = 9.0  # wider than thrice any gap between dashes: a disc of this width does not slip through one
AT_COVER_MM = 4.0  # the same between a dash and what lies on the line: a hand is joined to no line beside it
WHISKER_MM = 10.0  # pins and specks that stand out from the line, thinner than this
BESIDE_MM = 2.0  # of the line, within which something must be printed: elsewhere it was only closed, or something lies on it
LEAST_SHARE = 0.4  # of the area of the sheet, however roughly it is trimmed; what encloses less is a dart or a word


def outer_line(ink: Ink, sheet: Floats) -> tuple[Floats, NDArray[np.bool_]] | None:
    """The line that encloses everything printed, and where it is not seen; None where none encloses most of the sheet.

    Parameters
    ----------
    sheet : ndarray, shape (N, 2)
        The sheet's own edge, mm.

    Returns
    -------
    ndarray, shape (M, 2), ndarray of bool, shape (M,)
        Closed, clockwise as seen (y downwards), within a millimetre; and where it is not seen.
    """
    share = ink.picture.mm_per_px / MM_PER_PX
    wide = cv2.dilate(ink.dark, np.ones((2, 2), np.uint8))  # dots blurred to grey are dots yet
    on = (cv2.resize(wide, None, fx=share, fy=share, interpolation=cv2.INTER_AREA) > PRINTED).astype(np.uint8)
    low = ink.picture.low + 0.5 * (MM_PER_PX - ink.picture.mm_per_px)
    covered = np.zeros(on.shape, np.bool_) if ink.cover is None else ink.cover.over(on.shape, low, MM_PER_PX)
    margin = round(GAP_MM / MM_PER_PX)
    printed, lying = (np.pad(one, margin) for one in (cv2.dilate(on, np.ones((3, 3), np.uint8)), covered.astype(np.uint8)))
    closed = cv2.morphologyEx(printed, cv2.MORPH_CLOSE, _disc(GAP_MM))
    closed |= cv2.morphologyEx(printed | lying, cv2.MORPH_CLOSE, _disc(AT_COVER_MM))
    _, labels = cv2.connectedComponents(1 - closed, connectivity=4)
    inside = cv2.morphologyEx((labels != labels[0, 0]).astype(np.uint8), cv2.MORPH_OPEN, _disc(WHISKER_MM))
    contours, _ = cv2.findContours(inside, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return None
    px = max(contours, key=cv2.contourArea).reshape(-1, 2)
    line = low + (px - margin) * MM_PER_PX
    if len(line) < 4 or Polygon(line).area < LEAST_SHARE * Polygon(sheet).area:
        return None
    if cv2.contourArea(line.astype(np.float32), True) < 0:
        px, line = px[::-1], line[::-1]
    print_near = cv2.dilate(np.pad(on, margin), _disc(2 * BESIDE_MM)) > 0
    return line, np.asarray(~print_near[px[:, 1], px[:, 0]])


def _disc(wide_mm: float) -> NDArray[np.uint8]:
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * round(wide_mm / MM_PER_PX / 2) + 1,) * 2), np.uint8)
