"""Follow the arrow of a pointer sticker through the picture to its tip, because the surface bends between sticker and tip."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.points import POINTER_REACH_MM
from fitcheck.core.records import Floats
from fitcheck.vision.stickers.pattern_fit import HALF_MM, StickerFit

STEP_MM = 0.5  # of the picture laid along the arrow, in both directions
START_MM = HALF_MM + 0.5  # the arrow leaves the paper here
# Seen on the sticker's own plane the arrow is longer or shorter when the surface turns towards or away from the camera.
SHORTEST_MM, USUAL_MM, LONGEST_MM = 24.0, 39.0, 58.0
USUAL_SD_MM = 10.0  # of its length about the usual, as a weight (estimate)
ASIDE_MM = 9.0  # to both sides of the paper's axis, within which it is looked for
ARROW_HALF_MM = 4.5  # widest part of an arrow head, to either side of its axis
BEFORE_MM, AFTER_MM = 5.0, 3.0  # the end is where the darkness of the one most exceeds that of the other
LEAST_DROP = 0.4  # of the darkness at its end (estimate)
HEAD_SHARE, LONGEST_STEP_MM = 1.5, 4.0  # no wider than its shaft and ending within this: a plain line, not a head or wedge
MOST_ASIDE = 0.15  # of the length
MIN_DARKNESS = 12.0  # grey levels
WIDE_MM = 11.0  # what is wider than this is no arrow, but shade
FAINTEST = 3  # grey levels darker than beside it, from which a place counts
BEND_COST = 0.15  # of the darkest place, for half a millimetre aside: a crossing pen line or a shadow must not lead astray (estimate)
ALONG_SD_MM, ASIDE_SD_MM = 0.5, 1.0  # of the blur in which its way is looked for
LEAST_WEIGHT = 1e-3  # of a step in the line of the axis, where nothing dark is
CORE = 4  # steps to both sides of that way which hold the shaft
AXIS_FROM_MM, AXIS_TO_MM = 12.0, 2.0  # before the end: the part that tells the axis; where a head narrows to nothing, it does not
HEAD_MM, BEYOND_MM = 7.0, 4.0  # before and beyond the end, within which a head is looked at
RAMP_LOW, RAMP_SPAN = 0.25, 0.45  # of a head's darkness at its widest: a place on its ramp, and from there to a higher one
STEP_SHARE = 0.5  # the same for a plain line, which ends where half of it is gone
LEAST_FACING = 0.3  # a flatter sticker's arrow is placed no worse (estimate)
TIP_SD_PX, TIP_SD_MM = 0.35, 0.5  # of a tip seen squarely: in the picture, and as the paper bends (estimates)
# The sticker's plane continued: the surface leaves it by a few mm over 25 mm.
PLANE_SD_MM = 5.0
# The same over a bust, which is nearly flat there; an arrow that looks shorter than this there has its head under a fold or a pen line.
FLAT_SD_MM, FLAT_SHARE = 2.0, 0.9


@dataclass(frozen=True, slots=True)
class Tip:
    """Where a pointer points, in photo pixels; `path_px` (N, 2) is the arrow as followed, empty when only the plane was continued."""

    xy_px: Floats
    sd_px: float
    path_px: Floats


def follow_arrow(rgb: NDArray[np.uint8], fit: StickerFit, scale: float, px_per_mm: float, flat: bool = False) -> Tip:
    """The tip of the arrow drawn from the middle of a sticker's top edge.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
        The photo.
    fit : StickerFit
        In pixels of the photo times `scale`.
    scale, px_per_mm : float
        `px_per_mm` counts the fit's pixels.
    flat : bool
        Whether the body is nearly flat under the arrow.

    Returns
    -------
    Tip
        With a large sd where no arrow can be followed.
    """
    origin, across, along = _frame(fit)
    v = np.arange(START_MM, LONGEST_MM, STEP_MM)
    u = np.arange(-ASIDE_MM, ASIDE_MM + STEP_MM, STEP_MM)
    uu, vv = np.meshgrid(u, v - HALF_MM)
    picture = (origin + uu[..., None] * across + vv[..., None] * along + 0.5) / scale - 0.5
    # black is dark in every colour; pen lines and skin are bright in at least one
    brightest = _sample(rgb, picture).max(axis=2)
    darkness = cv2.morphologyEx(brightest, cv2.MORPH_BLACKHAT, np.ones((1, round(WIDE_MM / STEP_MM)), np.uint8))
    darkness = np.clip(darkness - FAINTEST, 0, None)
    path = _path(darkness)
    strength, profile, aside = _along(darkness, path)
    end = _end(strength, profile, np.abs(u[path]))
    printed_mm, before_mm = POINTER_REACH_MM - HALF_MM, START_MM - HALF_MM  # beyond the paper's edge
    if end is None or (flat and before_mm + end * STEP_MM < FLAT_SHARE * printed_mm):
        plane = (origin + along * printed_mm + 0.5) / scale - 0.5
        return Tip(plane, (FLAT_SD_MM if flat else PLANE_SD_MM) * px_per_mm / scale, np.empty((0, 2)))
    rows = np.arange(max(0, int(end) - round(AXIS_FROM_MM / STEP_MM)), max(1, int(end) - round(AXIS_TO_MM / STEP_MM)))
    sideways = np.polyval(np.polyfit(rows, u[path[rows]] + aside[rows], 1, w=np.sqrt(profile[rows]) + LEAST_WEIGHT), end)
    tip = origin + sideways * across + (before_mm + end * STEP_MM) * along
    followed = origin + u[path[: int(end)], None] * across + (v[: int(end), None] - HALF_MM) * along
    # the more obliquely it is seen, the more a shadow or the body's edge beside it can be taken for the arrow
    sd = float(np.hypot(TIP_SD_PX, TIP_SD_MM * px_per_mm)) / max(fit.facing, LEAST_FACING)
    return Tip((tip + 0.5) / scale - 0.5, sd / scale, (followed + 0.5) / scale - 0.5)


def _frame(fit: StickerFit) -> tuple[Floats, Floats, Floats]:
    """Middle of the top edge, and one millimetre across and along the arrow there, in the fit's pixels."""
    origin, right, up = fit.at(np.array([[0.0, HALF_MM], [1.0, HALF_MM], [0.0, HALF_MM + 1.0]]))
    return origin, right - origin, up - origin


def _sample(rgb: NDArray[np.uint8], points_px: Floats) -> NDArray[np.float32]:
    x, y = points_px[..., 0].astype(np.float32), points_px[..., 1].astype(np.float32)
    return np.asarray(cv2.remap(rgb, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), dtype=np.float32)


def _path(darkness: NDArray[np.float32]) -> NDArray[np.int_]:
    """Column of the darkest connected way from the middle of the top edge (dynamic programming)."""
    rows, columns = darkness.shape
    middle = columns // 2
    smooth = cv2.GaussianBlur(darkness, (0, 0), sigmaX=ASIDE_SD_MM / STEP_MM, sigmaY=ALONG_SD_MM / STEP_MM)
    cost = BEND_COST * float(smooth.max()) + 1e-6
    value = smooth[0] - cost * 2 * np.abs(np.arange(columns) - middle)
    came = np.zeros((rows, columns), dtype=np.int_)
    for row in range(1, rows):
        padded = np.pad(value, 1, constant_values=-np.inf)
        options = np.stack([padded[:-2] - cost, padded[1:-1], padded[2:] - cost])
        choice = options.argmax(axis=0)
        came[row] = choice - 1
        value = options[choice, np.arange(columns)] + smooth[row]
    path = np.zeros(rows, dtype=np.int_)
    path[-1] = int(value.argmax())
    for row in range(rows - 1, 0, -1):
        path[row - 1] = path[row] + came[row][path[row]]
    return path


def _along(darkness: NDArray[np.float32], path: NDArray[np.int_]) -> tuple[Floats, Floats, Floats]:
    """Per step: the darkest value near the path, darkness summed across it (mm times grey levels), and its centroid (mm aside)."""
    reach = round(ARROW_HALF_MM / STEP_MM)
    offset = np.arange(-reach, reach + 1)
    near = np.take_along_axis(darkness, np.clip(path[:, None] + offset, 0, darkness.shape[1] - 1), axis=1).astype(float)
    inner = slice(reach - CORE, reach + CORE + 1)
    core = near[:, inner] + 1e-6
    return core.max(axis=1), near.sum(axis=1) * STEP_MM, core @ offset[inner] / core.sum(axis=1) * STEP_MM


def _end(strength: Floats, profile: Floats, aside_mm: Floats) -> float | None:
    """Where the arrow ends, in steps; None when no arrow of a believable length is there.

    An arrow head narrows to nothing, so its summed darkness falls along a ramp whose foot is the tip; a plain line ends in a step.
    What goes on beyond the tip (a pen line, the edge of the cloth) is the floor of the ramp.
    """
    before, after = round(BEFORE_MM / STEP_MM), round(AFTER_MM / STEP_MM)
    total = np.concatenate([[0.0], np.cumsum(profile)])
    rows = np.arange(round((SHORTEST_MM - START_MM) / STEP_MM), len(profile) - after)
    darker = (total[rows] - total[rows - before]) / before
    lighter = (total[rows + after] - total[rows]) / after
    length = START_MM + rows * STEP_MM
    score = (darker - lighter) / max(float(darker.max()), 1e-9) - 0.5 * ((length - USUAL_MM) / USUAL_SD_MM) ** 2
    strayed = np.maximum.accumulate(aside_mm)[rows] > MOST_ASIDE * length  # a head that far aside belongs to something else
    best = int(np.where(strayed, -np.inf, score).argmax())
    row = int(rows[best])
    if strayed[best] or darker[best] - lighter[best] < LEAST_DROP * darker[best] or np.median(strength[:row]) < MIN_DARKNESS:
        return None
    first = max(0, row - round(HEAD_MM / STEP_MM))
    peak = first + int(profile[first : row + 1].argmax())
    floor = float(profile[row : row + round(BEYOND_MM / STEP_MM)].min())
    tail = profile[peak : row + round(BEYOND_MM / STEP_MM)] - floor
    high, low = (_crossing(tail, share * float(tail[0])) for share in (RAMP_LOW + RAMP_SPAN, RAMP_LOW))
    shaft = float(np.median(profile[: max(first, 1)])) - floor
    if float(tail[0]) < HEAD_SHARE * shaft and (low - high) * STEP_MM < LONGEST_STEP_MM:
        return peak + _crossing(tail, STEP_SHARE * float(tail[0]))
    return peak + low + (low - high) * RAMP_LOW / RAMP_SPAN


def _crossing(falling: Floats, level: float) -> float:
    """First place where the values fall below `level`, between samples."""
    below = np.flatnonzero(falling < level)
    if len(below) == 0:
        return float(len(falling) - 1)
    i = int(below[0])
    if i == 0:
        return 0.0
    return i - 1 + float((falling[i - 1] - level) / max(falling[i - 1] - falling[i], 1e-9))
