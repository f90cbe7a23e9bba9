"""The middle of a half tissue: where its cloth ends towards the other side of her, and the centre line drawn near that edge.

The edge is coarsely known from the cloth's own mask, and followed as an outline. A line drawn along it, within an allowance, is the centre
line; where a sticker, tape or a pin hides it, it runs on at its usual distance from the edge. Without such a line the edge is the centre.
"""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.light import FULL, GAMMA
from fitcheck.core.records import Floats, Pose, SeamLine, Side, Sighting
from fitcheck.vision.cloth.find_cloth import Cloth
from fitcheck.vision.cloth.log_colour import from_rgb, log_colour, to_rgb
from fitcheck.vision.cloth.trunk_frame import TrunkFrame
from fitcheck.vision.cloth.which_half import image_side
from fitcheck.vision.lines.half_edge import coarse_edge
from fitcheck.vision.lines.pen_colours import as_told, colour_name
from fitcheck.vision.lines.seam_scores import inked, run_of
from fitcheck.vision.lines.seams import hidden_by
from fitcheck.vision.trace.curves import Curve
from fitcheck.vision.trace.outline_path import STEP_MM, doubt_px, follow_outlines, placed_finely

# Estimates, on drawn fittings, where no line says more.
FEWEST = 12  # points of an edge, `STEP_MM` apart
STRAY_ROWS, STRAY_MM = 9, 4.0  # to either side; a place farther from their median belongs to something else
UNSURE_MM = 6.0  # a place of the edge vaguer than this is left out
# the centre line, from the edge towards the tissue
INSIDE_MM = (-7.0, 32.0)  # a line drawn close to the edge may have been taken for it; no allowance is wider (25 mm)
SHADE_MM = 6.0  # nearer the edge it may be the edge's own shade, and must have a colour of its own
OWN_COLOUR = 0.13  # log colour ratios from all mixtures of what lies on both sides, from which on it has
MIXTURES = 21  # of both sides' light, that a blurred edge may show
OWN_DARKNESS = 0.6  # log light below both sides, from which on it is a black pen
SHADOW, STRONG_COLOUR = 0.3, 0.3  # what is so much darker than both sides is the shadow under the edge, unless its colour is strong
DARKEST_PEN = -1.2  # log light of a coloured pen against cloth; what is darker there lies in shadow
BESIDE_MM, BESIDE_PLACES = (3.5, 7.0), 3  # from a line, where what lies beside it is looked at
STEEP_DEG = 65.0  # a line across is a waist or a print
ALONG = 0.8  # share of a line's points that must lie there
SHORTEST_MM = 18.0  # of a piece
ALIKE_MM, BEND = 4.0, 0.08  # how far aside of the line drawn on straight another piece of it may begin, and as a share of the gap
END_POINTS = 30  # of a line, that tell where it runs on
LEAST_INK = 0.5  # as `inked`: less is the shade of the edge
DRAWN_SHARE = 0.12  # of the edge's length that a centre line must be drawn along
NEXT_ROW = 1.5  # rows of the edge without a point of the line, from which on it is carried on
CARRIED_POINTS = 40  # of the line nearest to where it is hidden, that tell its distance from the edge there


def half_centre(
    photo: Photo, frame: TrunkFrame, edge: Floats, curves: Sequence[Curve], half: Side, cut_mm: float, told: str = ""
) -> tuple[SeamLine | None, tuple[Curve, ...], float | None]:
    """The centre line of a half tissue, the lines that are not part of it, and how far beyond a drawn one the cloth ends, mm.

    Parameters
    ----------
    edge : ndarray, shape (N, 3)
        As `half_edge`.
    curves : sequence of Curve
        All lines on its cloth.
    half : Side
    cut_mm : float
        By how much the edge lies beyond the centre where no line shows it.
    told : str
        The colour that the centre line was told to be drawn in.
    """
    if len(edge) < FEWEST:
        return None, tuple(curves), None
    inwards, scale = image_side(half, photo.view), frame.mm_per_px
    own = [curve for curve in curves if _runs_along(curve, photo.rgb, edge, inwards, frame)]
    drawn = _one_line(own, scale, told)
    name = "centre_front" if photo.view == "front" else "centre_back"
    others = tuple(curve for curve in curves if not any(curve is piece for piece in drawn))
    length = sum(float(np.ptp(curve.points_px[:, 1])) for curve in drawn)
    if length < DRAWN_SHARE * np.ptp(edge[:, 1]):
        points = edge[:, :2] + [inwards * cut_mm / scale, 0.0]
        return SeamLine(name, half, photo.view, points, float(np.median(edge[:, 2])), "", ("centre_by_edge",)), tuple(curves), None
    points, sd = _carried(drawn, edge, scale)
    longest = max(drawn, key=lambda curve: curve.length_px)
    beyond = float(np.nanmedian(_inside_mm(np.concatenate([curve.points_px for curve in drawn]), edge, inwards, scale)))
    return SeamLine(name, half, photo.view, points, sd, colour_name(longest.change)), others, beyond


def _runs_along(curve: Curve, rgb: NDArray[np.uint8], edge: Floats, inwards: int, frame: TrunkFrame) -> bool:
    run = run_of(curve, frame)
    inside = _inside_mm(curve.points_px, edge, inwards, frame.mm_per_px)
    beside = inside[np.isfinite(inside)]
    near = np.mean((beside > INSIDE_MM[0]) & (beside < INSIDE_MM[1])) if len(beside) else 0.0
    long_enough = len(beside) / len(inside) * run.length_mm > SHORTEST_MM
    if not (near > ALONG and long_enough and run.steep > STEEP_DEG and inked(run) > LEAST_INK):
        return False
    middle = float(np.median(beside))
    return middle > SHADE_MM or _has_own_colour(rgb, curve, frame.mm_per_px, middle < 0)


def _has_own_colour(rgb: NDArray[np.uint8], curve: Curve, scale: float, beyond: bool) -> bool:
    """Whether a line is no mixture of what lies on both its sides, as a blurred edge is; `beyond` the edge, no shadow either."""
    beside = np.linspace(*BESIDE_MM, BESIDE_PLACES) / scale
    left, line, right = (_usual_colour(rgb, curve.points_px, across) for across in (-beside, np.zeros(1), beside))
    share = np.linspace(0, 1, MIXTURES)[:, None]
    light = share * (to_rgb(left) / FULL) ** GAMMA + (1 - share) * (to_rgb(right) / FULL) ** GAMMA
    mixed = from_rgb(FULL * light ** (1 / GAMMA))
    away = float(np.linalg.norm((line - mixed)[:, 1:], axis=1).min())
    darker = float(min(left[0], right[0]) - line[0])
    if beyond:
        return bool(curve.change[0] > DARKEST_PEN) and away > (OWN_COLOUR if darker < SHADOW else STRONG_COLOUR)
    return away > OWN_COLOUR or darker > OWN_DARKNESS


def _usual_colour(rgb: NDArray[np.uint8], points: Floats, across_px: Floats) -> Floats:
    """Median log colour (3,) at some distances to image right of a line (N, 2)."""
    x = (points[:, :1] + across_px).astype(np.float32)
    y = np.repeat(points[:, 1:], len(across_px), axis=1).astype(np.float32)
    seen = log_colour(cv2.remap(rgb, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    return np.asarray(np.median(seen, axis=(0, 1)), float)


def _inside_mm(points: Floats, edge: Floats, inwards: int, scale: float) -> Floats:
    """How far points (M, 2) lie inside the edge; nan above and below its ends."""
    x = np.interp(points[:, 1], edge[:, 1], edge[:, 0], np.nan, np.nan)
    return np.asarray(inwards * (points[:, 0] - x) * scale)


def _one_line(curves: Sequence[Curve], scale: float, told: str) -> list[Curve]:
    """The longest piece and all that go on from it, above and below."""
    longest_first = sorted(curves, key=lambda curve: -curve.length_px * as_told(curve.change, told))
    line: list[Curve] = []
    for curve in longest_first * 2:  # the second time for pieces that only a later one connects
        if not line or (not any(curve is piece for piece in line) and _goes_on(curve, line, scale)):
            line.append(curve)
    return line


def _goes_on(curve: Curve, line: Sequence[Curve], scale: float) -> bool:
    """Whether a piece lies where the line, drawn on straight from its nearest end, would run."""
    points, own = np.concatenate([piece.points_px for piece in line]), curve.points_px
    first, last = float(own[:, 1].min()), float(own[:, 1].max())
    if np.mean((points[:, 1] > first) & (points[:, 1] < last)) > 0:
        return False
    near = points[np.argsort(np.abs(points[:, 1] - (first + last) / 2))[:END_POINTS]]
    end = own[np.abs(own[:, 1] - near[0, 1]).argmin()]
    slope = np.polyfit(near[:, 1], near[:, 0], 1)
    return bool(abs(end[0] - np.polyval(slope, end[1])) * scale < ALIKE_MM + BEND * abs(end[1] - near[0, 1]) * scale)


def _carried(drawn: Sequence[Curve], edge: Floats, scale: float) -> tuple[Floats, float]:
    """The drawn pieces from above, carried on beside the edge where nothing is drawn; and the doubt of the line, px."""
    points = np.concatenate([curve.points_px for curve in drawn])
    points = points[np.argsort(points[:, 1], kind="stable")]
    off = points[:, 0] - np.interp(points[:, 1], edge[:, 1], edge[:, 0])
    step = NEXT_ROW * float(np.median(np.diff(edge[:, 1])))
    rows = np.array([y for y in edge[:, 1] if np.abs(points[:, 1] - y).min() > step])
    near = [off[np.argsort(np.abs(points[:, 1] - y))[:CARRIED_POINTS]] for y in rows]
    steady = np.array([np.ptp(part) * scale < ALIKE_MM for part in near], bool)  # else what is taken for the edge there is none
    if steady.any():
        more = np.interp(rows, edge[:, 1], edge[:, 0]) + [float(np.median(part)) for part in near]
        points = np.concatenate([points, np.stack([more, rows], axis=1)[steady]])
        points = points[np.argsort(points[:, 1], kind="stable")]
    return points, max(curve.sd_px for curve in drawn)


def half_edge(photo: Photo, pose: Pose, cloth: Cloth, marks: Sequence[Sighting], half: Side, mm_per_px: float) -> Floats:
    """Where the cloth of a half tissue ends towards the other side of her, from above: x, y and standard uncertainty across, px.

    Shape (N, 3); empty where it does not show.
    """
    hidden = hidden_by(marks, mm_per_px)
    coarse = coarse_edge(photo.rgb, pose, cloth, hidden, image_side(half, photo.view), mm_per_px)
    if len(coarse) < FEWEST:
        return np.zeros((0, 3))
    rows = np.arange(coarse[0, 1], coarse[-1, 1], STEP_MM / mm_per_px)
    points = np.stack([np.interp(rows, coarse[:, 1], coarse[:, 0]), rows], axis=1)[None]
    outwards = np.broadcast_to(np.array([-image_side(half, photo.view), 0.0]), points.shape)
    slope = np.gradient(points[0, :, 0], rows)
    along = np.stack([slope, np.ones(len(rows))], axis=1)[None]
    free = ~_under(points[0], hidden)
    whole = np.where(free, 1, 0)[None]
    away = np.zeros(whole.shape)
    course = follow_outlines(photo.rgb, points, outwards, along * STEP_MM / mm_per_px, away, whole, 1 / mm_per_px)
    doubts = doubt_px(course, away, 1 / mm_per_px)[0]
    kept = np.flatnonzero(free & (doubts * mm_per_px < UNSURE_MM))
    if len(kept) < FEWEST:
        return np.zeros((0, 3))
    found = placed_finely(photo.rgb, points[0, kept], outwards[0, kept], along[0, kept], course.shift_mm[0, kept] / mm_per_px)
    return np.column_stack([found, doubts[kept]])[_alike(found[:, 0] * mm_per_px)]


def _alike(x_mm: Floats) -> NDArray[np.bool_]:
    """Which places of an edge lie where those above and below do: tape and print may be steeper than the edge for a few rows."""
    padded = np.pad(x_mm, STRAY_ROWS, mode="reflect", reflect_type="odd")
    usual = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * STRAY_ROWS + 1), axis=1)
    return np.asarray(np.abs(x_mm - usual) < STRAY_MM)


def without_beyond(cloth: Cloth, edge: Floats, inwards: int) -> Cloth:
    """The cloth without what lies beyond the edge of a half tissue, which then is no cloth of it."""
    if len(edge) < FEWEST:
        return cloth
    y = cloth.box_px[1] + cloth.stride * (np.arange(cloth.mask.shape[0]) + 0.5) - 0.5
    x = cloth.box_px[0] + cloth.stride * (np.arange(cloth.mask.shape[1]) + 0.5) - 0.5
    beyond = inwards * (x[None] - np.interp(y, edge[:, 1], edge[:, 0])[:, None]) < 0
    return replace(cloth, mask=cloth.mask & ~beyond)


def _under(points: Floats, polygons: Sequence[Floats]) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which points lie in the box around one of the polygons."""
    inside = np.zeros(len(points), bool)
    for polygon in polygons:
        inside |= ((points >= polygon.min(axis=0)) & (points <= polygon.max(axis=0))).all(axis=1)
    return inside
