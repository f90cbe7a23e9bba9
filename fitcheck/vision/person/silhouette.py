"""Where the trunk ends against the background, finer than the coarse person mask.

The mask of the pose model is made on a 256 px grid, so its border wanders by several pixels, and by several centimetres before a wall of
the cloth's colour; the picture's own edge beside it is sharp. The edge is followed down each side of the trunk as a whole
(`outline_path`), then placed between the pixels of every row asked for. The arms belong to the mask but not to the trunk: where the
border is an arm's, the trunk's is hidden.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.outline import Outline
from fitcheck.core.polyline import continued
from fitcheck.core.pose_joints import EARS, ELBOWS, HIPS, KNEES, KNUCKLES, SHOULDERS, WRISTS, of_side
from fitcheck.core.records import SIDES, Floats, Pose
from fitcheck.vision.person.pose import px_per_mm
from fitcheck.vision.trace.outline_path import STEP_MM, doubt_px, follow_outlines, placed_finely

ARM_HALF_MM = 65.0  # half an upper arm with its sleeve and the pose's own error
ARM_ABOVE = 0.3  # of that, above its highest joint (estimate)
MOST_SLANT = 2.0  # of an arm across a row, over its width: a lying one would fill the row (estimate)
LEAP_STEPS = 5  # sideways from row to row, in `STEP_MM`: the border has left her (estimate)
ENDS = 4  # rows beyond the first and last asked for, so that these are held from both sides
SMOOTH = 6  # rows to either side in which the mask's border is smoothed

_ARMS = tuple([of_side(pair, side) for pair in (SHOULDERS, ELBOWS, WRISTS, KNUCKLES)] for side in SIDES)


def torso_edges(photo_rgb: NDArray[np.uint8], pose: Pose, rows_px: Sequence[float] | Floats) -> Outline:
    """The trunk's (or neck's) left and right edge in the picture at some rows.

    Parameters
    ----------
    photo_rgb : ndarray of uint8, shape (H, W, 3)
    pose : Pose
    rows_px : sequence of float, length N

    Returns
    -------
    Outline
        An edge is NaN where it is outside the picture or an arm hides it.
    """
    wanted = np.asarray(rows_px, float)
    scale = px_per_mm(pose)
    edges, sds = np.full((2, len(wanted)), np.nan), np.full((2, len(wanted)), np.nan)
    rows, places = _with_rows_between(wanted, pose.mask.shape[0], STEP_MM * scale)
    if not len(rows):
        return Outline(wanted, edges, sds)
    borders, seen = _borders(pose, rows, scale)
    smooth, whole = np.zeros(borders.shape), np.zeros(borders.shape, np.intp)
    for side in (0, 1):
        for number, part in enumerate(_unbroken(seen[side], borders[side], scale), start=1):
            smooth[side, part], whole[side, part] = _smoothed(borders[side, part]), number
    points = np.stack([smooth, np.broadcast_to(rows, smooth.shape)], axis=-1)
    outwards = np.broadcast_to(np.array([[[-1.0, 0.0]], [[1.0, 0.0]]]), points.shape)
    along = np.stack([_slopes(smooth, rows, whole), np.ones(smooth.shape)], axis=-1)
    away = (borders - smooth) * outwards[..., 0] / scale
    course = follow_outlines(photo_rgb, points, outwards, along * np.median(np.diff(rows)), away, whole, scale)
    doubts = doubt_px(course, away, scale)
    asked = np.flatnonzero(places >= 0)
    left_right, at = np.nonzero(seen[:, asked])
    if len(at):
        here = left_right, asked[at]
        found = placed_finely(photo_rgb, points[here], outwards[here], along[here], course.shift_mm[here] * scale)
        edges[left_right, places[here[1]]] = found[:, 0]
        sds[left_right, places[here[1]]] = doubts[here]
    return Outline(wanted, edges, sds)


def _with_rows_between(wanted: Floats, height: int, step: float) -> tuple[Floats, NDArray[np.intp]]:
    """The rows asked for that lie in the picture with others between and beside them, and where each was asked for (-1: nowhere)."""
    lines = np.rint(wanted)
    inside = np.flatnonzero((lines >= 0) & (lines < height))
    if not len(inside):
        return np.zeros(0), np.zeros(0, np.intp)
    inside = inside[np.argsort(wanted[inside], kind="stable")]
    own = wanted[inside]
    reach = step * np.arange(1, ENDS + 1)
    gaps = np.diff(own)
    parts = np.maximum(np.ceil(gaps / step).astype(int), 1)
    before = np.repeat(np.arange(len(gaps)), parts - 1)
    within = np.arange(len(before)) - np.repeat(np.cumsum(parts - 1) - (parts - 1), parts - 1) + 1
    between = own[before] + gaps[before] * within / parts[before]
    more = np.concatenate([own[0] - reach, own[-1] + reach, between])
    more = more[(more > -0.5) & (more < height - 0.5)]
    rows = np.concatenate([own, more])
    order = np.argsort(rows, kind="stable")
    return rows[order], np.concatenate([inside, np.full(len(more), -1)])[order]


def _borders(pose: Pose, rows: Floats, scale: float) -> tuple[Floats, NDArray[np.bool_]]:
    """The mask's left and right border in each row, shape (2, N), and whether it is the trunk's and in the picture.

    Half a pixel outwards: the mask's border pixel still belongs to her.
    """
    lines = np.rint(rows).astype(int)
    axis = _polyline_x(pose, (EARS, SHOULDERS, HIPS, KNEES), rows)
    at = np.rint(axis).astype(int)
    runs = np.array([_run(pose.mask[line], x) or (0, -1) for line, x in zip(lines.tolist(), at.tolist(), strict=True)]).T
    seen = (runs[1] >= 0) & ~_arm_there(pose, lines, runs, scale) & (runs > 0) & (runs < pose.mask.shape[1] - 1)
    return runs + np.array([[-0.5], [0.5]]), seen


def _unbroken(seen: NDArray[np.bool_], borders: Floats, scale: float) -> list[NDArray[np.intp]]:
    """Places of the rows seen, parted where some are hidden between or the border leaps."""
    at = np.flatnonzero(seen)
    if not len(at):
        return []
    leaps = np.abs(np.diff(borders[at])) > LEAP_STEPS * STEP_MM * scale
    return np.split(at, np.flatnonzero((np.diff(at) > 1) | leaps) + 1)


def _smoothed(border: Floats) -> Floats:
    """Moving median, then moving mean, that keep straight ends."""
    half = min(SMOOTH, (len(border) - 1) // 2)
    if half == 0:
        return border
    weights = np.hanning(2 * half + 3)[1:-1]
    windows = np.lib.stride_tricks.sliding_window_view(continued(border, half), 2 * half + 1)
    return np.convolve(continued(np.sort(windows, axis=1)[:, half], half), weights / weights.sum(), "valid")


def _slopes(smooth: Floats, rows: Floats, whole: NDArray[np.intp]) -> Floats:
    """Sideways pixels per row, shape (2, N): mean of the steps from the row before and to the row after that hang together."""
    joined = np.pad(((whole[:, 1:] == whole[:, :-1]) & (whole[:, 1:] > 0)).astype(float), ((0, 0), (1, 1)))
    steps = joined * np.pad(np.diff(smooth, axis=1) / np.diff(rows), ((0, 0), (1, 1)))
    return np.asarray((steps[:, 1:] + steps[:, :-1]) / np.maximum(joined[:, 1:] + joined[:, :-1], 1))


def _polyline_x(pose: Pose, joints: Sequence[Sequence[int]], rows: Floats | NDArray[np.intp]) -> Floats:
    """x at some rows of the line through the (means of the) joints, which run downwards."""
    points = np.array([pose.points_px[list(group)].mean(axis=0) for group in joints])
    order = np.argsort(points[:, 1])
    return np.asarray(np.interp(rows, points[order, 1], points[order, 0]))


def _run(row: NDArray[np.bool_], at: int) -> tuple[int, int] | None:
    """First and last pixel of the connected run that holds a column."""
    if not 0 <= at < len(row) or not row[at]:
        return None
    before, after = row[at::-1].argmin(), row[at:].argmin()  # 0 where there is no gap, as the run itself is True
    return (at - int(before) + 1 if before else 0), (at + int(after) - 1 if after else len(row) - 1)


def _arm_there(pose: Pose, rows: NDArray[np.intp], borders: NDArray[np.intp], scale: float) -> NDArray[np.bool_]:
    """Whether each border, shape (2, M), is an arm's outline: the arm's axis lies within the run and close to the border."""
    there = np.zeros(borders.shape, bool)
    for joints in _ARMS:
        arm = pose.points_px[joints]
        beside = (rows >= arm[:, 1].min() - ARM_ABOVE * ARM_HALF_MM * scale) & (rows <= arm[:, 1].max() + ARM_HALF_MM * scale)
        x = _polyline_x(pose, [[joint] for joint in joints], rows)
        # cut obliquely by the row a slanting arm is wider
        slant = min(MOST_SLANT, float(np.hypot(*(arm[2] - arm[0]))) / max(abs(float(arm[2, 1] - arm[0, 1])), 1e-9))
        there |= beside & (borders[0] <= x) & (x <= borders[1]) & (np.abs(borders - x) < ARM_HALF_MM * scale * slant)
    return there
