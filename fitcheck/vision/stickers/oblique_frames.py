"""Where stickers may lie that ArUco did not propose: foreshortened frames at neck and shoulders, found by correlation.

A sticker on top of a shoulder is a bar some ten pixels high whose white rim is one pixel wide; beside a dark edge its outline
cannot be told by thresholds. A black frame in a white one, tilted in steps, still correlates.
"""

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.pose_joints import EARS, SHOULDERS, of_side
from fitcheck.core.records import Floats, Side, View
from fitcheck.vision.stickers.pattern_fit import BLUR_PX, HALF_MM, OUTLINE_ONLY, fit_sticker

TILTS_DEG = (60.0, 72.0)  # from square on; from the front the first alone
FALLS_DEG, FRONT_FALLS_DEG = (-25.0, 0.0, 25.0), (-55.0, 55.0)  # the surface falls away upwards; seen from the front, down the arms
SPINS_DEG = (-25.0, 0.0, 25.0)  # the paper is stuck on turned by up to 30 degrees
NECK_FOOT = 0.4  # of the way from shoulder to ear: where the neck's sticker lies, seen from the side (estimate)
FRAME_CELL_PX, FRAME_RIM_PX, CELLS_ACROSS = 8, 6, 6  # of the frame as drawn before it is tilted
WHITE, INSIDE, OUTSIDE = 255.0, 110.0, 150.0  # grey levels: of cells, a little less often white than black; of the cloth (estimate)
FRAME_BLUR_PX, SMALLEST_TEMPLATE_PX = 0.5, 5  # of the tilted frame: its blur, and its least side
LEAST_CONTRAST = 0.35  # of the stickers already found
PEAK_PX = 9  # apart, places of one frame
LEAST = 0.30  # normalised correlation of the frame alone
STARTS = 8  # frames that are fitted, at a place
SOFT_PX, LEAST_SOFT = 1.5, 0.55  # the frame is first fitted in a blurred picture, from further away
SAME_PLACE, SAME_PLACE_MM = 4, 6.0  # frames tilted differently in one place, so far apart, because the fit needs a start near its end
REACH_MM = 60.0  # the pose's shoulder lies within about 40 mm of the sticker's middle


def neck_and_shoulders(points_px: Floats, view: View) -> list[Floats]:
    """Where shoulder and neck points lie that face the camera: groups (N, 2) of points, from the pose's body points (33, 2)."""
    if view in ("front", "back"):
        return [points_px[[shoulder]] for shoulder in SHOULDERS]
    side: Side = "wearer_left" if view == "left" else "wearer_right"
    shoulder, ear = points_px[of_side(SHOULDERS, side)], points_px[of_side(EARS, side)]
    return [np.stack([shoulder, shoulder + NECK_FOOT * (ear - shoulder)])]


def oblique_starts(
    gray: NDArray[np.uint8], px_per_mm: float, near_px: list[Floats], view: View, known_px: list[Floats], contrast: float
) -> list[Floats]:
    """Likely frames near neck and shoulders, best first.

    Parameters
    ----------
    gray : ndarray of uint8, shape (H, W)
    px_per_mm : float
    near_px : list of ndarray, shape (N, 2)
        As `neck_and_shoulders` gives them, in pixels of `gray`.
    view : View
    known_px : list of ndarray, shape (4, 2)
        Corners of the stickers already found, to be looked past.
    contrast : float
        Of those stickers, in grey levels.

    Returns
    -------
    list of ndarray, shape (2, 6)
        Starting shapes for `fit_sticker`.
    """
    found: list[Floats] = []
    for place in near_px:
        low = np.clip(place.min(axis=0) - REACH_MM * px_per_mm, 0, None).astype(int)
        high = np.clip(place.max(axis=0) + REACH_MM * px_per_mm, 0, None).astype(int)
        part = gray[low[1] : high[1], low[0] : high[0]].astype(np.float32)
        if min(part.shape) < 2 * HALF_MM * px_per_mm:
            continue
        for corners in known_px:
            cv2.fillConvexPoly(part, np.round(corners - low).astype(np.int32), float(np.median(part)))
        soft = cv2.GaussianBlur(part, (0, 0), SOFT_PX)
        for shape in _likely(part, px_per_mm, contrast, view in ("front", "back")):
            fit = fit_sticker(soft, OUTLINE_ONLY, shape, float(np.hypot(SOFT_PX, BLUR_PX)), LEAST_SOFT)
            if fit.match > LEAST_SOFT:
                found.append(np.column_stack([fit.shape[:, 0] + low, fit.shape[:, 1:]]))
    return found


def _likely(part: NDArray[np.float32], px_per_mm: float, contrast: float, seen_from_front: bool) -> list[Floats]:
    """Where a tilted frame of about that contrast correlates best, best first."""
    scored: list[tuple[float, Floats]] = []
    for axes in _axes(seen_from_front):
        template = _template(axes, round(px_per_mm, 2))
        alike = cv2.matchTemplate(part, template, cv2.TM_CCOEFF_NORMED)
        strength = cv2.matchTemplate(part, template, cv2.TM_CCOEFF) / float(template.var() * template.size)
        alike[WHITE * strength < LEAST_CONTRAST * contrast] = -1.0
        peaks = (alike >= LEAST) & (alike == cv2.dilate(alike, np.ones((PEAK_PX, PEAK_PX))))
        for y, x in np.argwhere(peaks):
            shape = np.zeros((2, 6))
            shape[:, 0] = x + (template.shape[1] - 1) / 2, y + (template.shape[0] - 1) / 2
            shape[:, 1:3] = np.array(axes).reshape(2, 2) * HALF_MM * px_per_mm
            scored.append((float(alike[y, x]), shape))
    scored.sort(key=lambda one: -one[0])
    kept: list[Floats] = []
    for _, shape in scored:
        near = sum(float(np.hypot(*(shape[:, 0] - other[:, 0]))) < SAME_PLACE_MM * px_per_mm for other in kept)
        if near < SAME_PLACE:
            kept.append(shape)
    return kept[:STARTS]


@cache
def _axes(seen_from_front: bool) -> list[tuple[float, float, float, float]]:
    """Right and up of a frame in the picture, (right x, up x, right y, up y) a row-major 2 x 2."""
    found = []
    for about in FRONT_FALLS_DEG if seen_from_front else FALLS_DEG:
        for tilt in TILTS_DEG[:1] if seen_from_front else TILTS_DEG:
            for spin in SPINS_DEG:
                a, s = np.radians([about, spin])
                turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
                own = np.array([[np.cos(s), np.sin(s)], [np.sin(s), -np.cos(s)]])  # picture y points down
                m = turn @ np.diag([1.0, np.cos(np.radians(tilt))]) @ own
                found.append((float(m[0, 0]), float(m[0, 1]), float(m[1, 0]), float(m[1, 1])))
    return found


@cache
def _template(axes: tuple[float, float, float, float], px_per_mm: float) -> NDArray[np.float32]:
    """Picture of a frame: white rim, black ring, and inside the mean of all patterns."""
    rim, ring = FRAME_RIM_PX, FRAME_RIM_PX + FRAME_CELL_PX
    side = CELLS_ACROSS * FRAME_CELL_PX + 2 * rim
    frame = np.full((side, side), WHITE)
    frame[rim:-rim, rim:-rim] = 0.0
    frame[ring:-ring, ring:-ring] = INSIDE
    matrix = np.array(axes).reshape(2, 2) * px_per_mm * 2 * HALF_MM / side
    matrix = matrix * [1, -1]  # rows of the drawing run down
    half = np.abs(matrix).sum(axis=1) * side / 2
    size = np.maximum(np.ceil(2 * half).astype(int) | 1, SMALLEST_TEMPLATE_PX)
    middle = (side - 1) / 2
    offset = (size - 1) / 2 - matrix @ [middle, middle]
    over = cv2.GaussianBlur(frame.astype(np.float32), (0, 0), FRAME_BLUR_PX / float(np.abs(np.linalg.det(matrix)) ** 0.5))
    return np.asarray(cv2.warpAffine(over, np.column_stack([matrix, offset]), (int(size[0]), int(size[1])), borderValue=OUTSIDE))
