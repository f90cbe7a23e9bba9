"""The middle of a half tissue: where its cloth ends towards the other side of her, and the centre line drawn near that edge.

The edge is coarsely known from the cloth's own mask, and followed as an outline. A line drawn along it, within an allowance, is the centre
line; where a sticker, tape or a pin hides it, it runs on at its usual distance from the edge. Without such a line the edge is the centre.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Floats, Pose, SeamLine, Side, Sighting
from fitcheck.vision.cloth.find_cloth import Cloth
from fitcheck.vision.cloth.trunk_frame import TrunkFrame
from fitcheck.vision.cloth.which_half import image_side
from fitcheck.vision.lines.pen_colours import as_told, colour_name
from fitcheck.vision.lines.seam_scores import inked, run_of
from fitcheck.vision.lines.seams import hidden_by
from fitcheck.vision.trace.curves import Curve
from fitcheck.vision.trace.outline_path import STEP_MM, doubt_px, follow_outlines, placed_finely

# Estimates, on drawn fittings, where no line says more.
DOWN = (0.02, 1.2)  # of the trunk, within which the edge is looked for
BEGIN_DOWN = 0.55  # of the trunk: there every half tissue has its edge near the middle, and from there it is followed up and down
MOST_ASIDE_MM = 75.0  # of the edge from the pose's axis: 30 that it may lack or overlap, an allowance, and what the pose is off
TISSUE_ASIDE = 0.6  # in half widths of the shoulders from the axis: there its cloth lies in every row
LEAP_MM = 14.0  # from one row of cells to the next: a neckline that turns off, or a hem
SMOOTH_ROWS = 5  # to either side, of the coarse edge's median
FEWEST = 12  # points of an edge, `STEP_MM` apart
UNSURE_MM = 3.0  # a place of the edge vaguer than this is left out
# the centre line, from the edge towards the tissue
INSIDE_MM = (-3.0, 32.0)  # no allowance is wider (25 mm), and lines shade the edge
STEEP_DEG = 65.0  # a line across is a waist or a print
ALONG = 0.8  # share of a line's points that must lie there
SHORTEST_MM = 18.0  # of a piece
ALIKE_MM = 4.0  # pieces at so nearly one distance are one line
LEAST_INK = 0.5  # as `inked`: less is the shade of the edge
DRAWN_SHARE = 0.25  # of the edge's length that a centre line must be drawn along
CARRIED_POINTS = 40  # of the line nearest to where it is hidden, that tell its distance from the edge there


def half_centre(
    photo: Photo, frame: TrunkFrame, edge: Floats, curves: Sequence[Curve], half: Side, cut_mm: float, told: str = ""
) -> tuple[SeamLine | None, tuple[Curve, ...]]:
    """The centre line of a half tissue, and the lines that are not part of it.

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
        return None, tuple(curves)
    inwards, scale = image_side(half, photo.view), frame.mm_per_px
    own = [curve for curve in curves if _runs_along(curve, edge, inwards, scale, frame)]
    drawn = _one_line(own, edge, inwards, scale, told)
    name = "centre_front" if photo.view == "front" else "centre_back"
    others = tuple(curve for curve in curves if not any(curve is piece for piece in drawn))
    length = sum(float(np.ptp(curve.points_px[:, 1])) for curve in drawn)
    if length < DRAWN_SHARE * np.ptp(edge[:, 1]):
        points = edge[:, :2] + [inwards * cut_mm / scale, 0.0]
        return SeamLine(name, half, photo.view, points, float(np.median(edge[:, 2])), "", ("centre_by_edge",)), tuple(curves)
    points, sd = _carried(drawn, edge)
    longest = max(drawn, key=lambda curve: curve.length_px)
    return SeamLine(name, half, photo.view, points, sd, colour_name(longest.change)), others


def _runs_along(curve: Curve, edge: Floats, inwards: int, scale: float, frame: TrunkFrame) -> bool:
    run = run_of(curve, frame)
    inside = _inside_mm(curve.points_px, edge, inwards, scale)
    near = np.mean((inside > INSIDE_MM[0]) & (inside < INSIDE_MM[1]))
    return bool(near > ALONG and run.steep > STEEP_DEG and run.length_mm > SHORTEST_MM and inked(run) > LEAST_INK)


def _inside_mm(points: Floats, edge: Floats, inwards: int, scale: float) -> Floats:
    """How far points (M, 2) lie inside the edge; far outside above and below its ends."""
    x = np.interp(points[:, 1], edge[:, 1], edge[:, 0], np.nan, np.nan)
    return np.nan_to_num(inwards * (points[:, 0] - x) * scale, nan=-np.inf)


def _one_line(curves: Sequence[Curve], edge: Floats, inwards: int, scale: float, told: str) -> list[Curve]:
    """The pieces that lie at one distance from the edge, of all distances those that are drawn the longest."""
    away = [float(np.median(_inside_mm(curve.points_px, edge, inwards, scale))) for curve in curves]
    worth = [curve.length_px * as_told(curve.change, told) for curve in curves]
    best: list[Curve] = []
    most = 0.0
    for at in away:
        alike = [i for i, other in enumerate(away) if abs(other - at) < ALIKE_MM]
        if (total := sum(worth[i] for i in alike)) > most:
            best, most = [curves[i] for i in alike], total
    return best


def _carried(drawn: Sequence[Curve], edge: Floats) -> tuple[Floats, float]:
    """The drawn pieces from above, carried on beside the edge where nothing is drawn; and the doubt of the line, px."""
    pieces = sorted((curve.points_px[np.argsort(curve.points_px[:, 1])] for curve in drawn), key=lambda points: float(points[0, 1]))
    points = np.concatenate(pieces)
    points = points[np.argsort(points[:, 1], kind="stable")]
    off = points[:, 0] - np.interp(points[:, 1], edge[:, 1], edge[:, 0])
    step = float(np.median(np.diff(edge[:, 1])))
    free = [y for y in edge[:, 1] if np.abs(points[:, 1] - y).min() > step]
    if free:
        rows = np.array(free)
        near = np.array([np.median(off[np.argsort(np.abs(points[:, 1] - y))[:CARRIED_POINTS]]) for y in rows])
        more = np.stack([np.interp(rows, edge[:, 1], edge[:, 0]) + near, rows], axis=1)
        points = np.concatenate([points, more])
        points = points[np.argsort(points[:, 1], kind="stable")]
    return points, max(curve.sd_px for curve in drawn)


def half_edge(photo: Photo, pose: Pose, cloth: Cloth, marks: Sequence[Sighting], half: Side, mm_per_px: float) -> Floats:
    """Where the cloth of a half tissue ends towards the other side of her, from above: x, y and standard uncertainty across, px.

    Shape (N, 3); empty where it does not show.
    """
    coarse = _coarse_edge(pose, cloth, image_side(half, photo.view), mm_per_px)
    if len(coarse) < FEWEST:
        return np.zeros((0, 3))
    rows = np.arange(coarse[0, 1], coarse[-1, 1], STEP_MM / mm_per_px)
    points = np.stack([np.interp(rows, coarse[:, 1], coarse[:, 0]), rows], axis=1)[None]
    outwards = np.broadcast_to(np.array([-image_side(half, photo.view), 0.0]), points.shape)
    slope = np.gradient(points[0, :, 0], rows)
    along = np.stack([slope, np.ones(len(rows))], axis=1)[None]
    free = ~_under(points[0], hidden_by(marks, mm_per_px))
    whole = np.where(free, 1, 0)[None]
    away = np.zeros(whole.shape)
    course = follow_outlines(photo.rgb, points, outwards, along * STEP_MM / mm_per_px, away, whole, 1 / mm_per_px)
    doubts = doubt_px(course, away, 1 / mm_per_px)[0]
    kept = np.flatnonzero(free & (doubts * mm_per_px < UNSURE_MM))
    if len(kept) < FEWEST:
        return np.zeros((0, 3))
    found = placed_finely(photo.rgb, points[0, kept], outwards[0, kept], along[0, kept], course.shift_mm[0, kept] / mm_per_px)
    return np.column_stack([found, doubts[kept]])


def _coarse_edge(pose: Pose, cloth: Cloth, inwards: int, mm_per_px: float) -> Floats:
    """The inner end of the cloth in each row of its mask that has it near the trunk's axis, smoothed, shape (N, 2)."""
    shoulders, hips = pose.points_px[[*SHOULDERS]], pose.points_px[[*HIPS]]
    top, trunk = float(shoulders[:, 1].mean()), float(hips[:, 1].mean() - shoulders[:, 1].mean())
    y = cloth.box_px[1] + cloth.stride * (np.arange(cloth.mask.shape[0]) + 0.5) - 0.5
    down = (y - top) / max(trunk, 1.0)
    axis = shoulders[:, 0].mean() + down * (hips[:, 0].mean() - shoulders[:, 0].mean())
    inside = axis + inwards * TISSUE_ASIDE * np.ptp(shoulders[:, 0]) / 2
    x = np.full(len(y), np.nan)
    for row in np.flatnonzero((down > DOWN[0]) & (down < DOWN[1])):
        x[row] = _inner_end(cloth, int(row), float(inside[row]), inwards)
    x[np.abs(x - axis) * mm_per_px > MOST_ASIDE_MM] = np.nan
    known = np.flatnonzero(np.isfinite(x))
    if not len(known):
        return np.zeros((0, 2))
    begin = known[np.abs(down[known] - BEGIN_DOWN).argmin()]
    kept = sorted({*_followed(x, int(begin), -1, mm_per_px), *_followed(x, int(begin), 1, mm_per_px)})
    padded = np.pad(x[kept], SMOOTH_ROWS, mode="edge")
    smooth = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * SMOOTH_ROWS + 1), axis=1)
    return np.stack([smooth, y[kept]], axis=1)


def _inner_end(cloth: Cloth, row: int, inside: float, inwards: int) -> float:
    """Pixel column at which the run of cloth through `inside` ends towards the middle; nan where no cloth is there."""
    cells = cloth.mask[row]
    at = int((inside - cloth.box_px[0]) / cloth.stride)
    if not 0 <= at < len(cells) or not cells[at]:
        return float("nan")
    ahead = cells[at::-1] if inwards > 0 else cells[at:]
    steps = int(ahead.argmin()) or len(ahead)
    last = at - (steps - 1) if inwards > 0 else at + (steps - 1)
    return cloth.box_px[0] + cloth.stride * (last + (0.0 if inwards > 0 else 1.0)) - 0.5


def _followed(x: Floats, begin: int, step: int, mm_per_px: float) -> list[int]:
    """Rows from `begin` on, up or down, until the edge leaps aside for good."""
    rows, last, missed = [begin], begin, 0
    at = begin + step
    while 0 <= at < len(x) and missed < 2 * SMOOTH_ROWS:
        if np.isfinite(x[at]) and abs(x[at] - x[last]) * mm_per_px < LEAP_MM:
            rows.append(at)
            last, missed = at, 0
        else:
            missed += 1
        at += step
    return rows


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
