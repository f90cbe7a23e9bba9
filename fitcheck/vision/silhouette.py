"""Where the trunk ends against the background, row by row, finer than the coarse person mask.

The mask of the pose model is made on a 256 px grid, so its border wanders by several pixels; the picture's own edge beside it is
sharp. The arms belong to the mask but not to the trunk: where the border is an arm's, the trunk's is hidden.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.outline import Outline
from fitcheck.core.records import Floats, Pose
from fitcheck.vision.pose import px_per_mm

SEARCH_MM = 10.0  # to either side of the mask's border: it strays by up to about that much
MASK_SD_MM = 20.0  # of the mask's border itself, where the picture shows no edge beside it
EDGE_SD_MM = 0.6  # of a clear edge; blur, JPEG and half-lit rims
ARM_HALF_MM = 65.0  # half an upper arm with its sleeve and the pose's own error
ROWS = 2  # so many rows above and below are averaged along the border's slope
SLOPE_ROWS = 12
CLEAR_EDGE = 12.0  # colour step in grey levels
OUTER_SHARE = 0.5  # the outermost edge at least this strong against the strongest is the outline; inner ones are seams and shade

_EARS, _SHOULDERS, _HIPS, _KNEES = [7, 8], [11, 12], [23, 24], [25, 26]
_ARMS = ([11, 13, 15, 19], [12, 14, 16, 20])  # shoulder, elbow, wrist, first knuckle of the forefinger


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
    rows = np.asarray(rows_px, float)
    height, width = pose.mask.shape
    scale = px_per_mm(pose)
    edges, sds = np.full((2, len(rows)), np.nan), np.full((2, len(rows)), np.nan)
    lines = np.rint(rows).astype(int)
    inside = np.flatnonzero((lines >= 0) & (lines < height))
    axis = _polyline_x(pose, (_EARS, _SHOULDERS, _HIPS, _KNEES), rows)
    runs = {int(i): run for i in inside if (run := _run(pose.mask[lines[i]], axis[i])) is not None}
    if not runs:
        return Outline(rows, edges, sds)
    at = np.array(list(runs))
    borders = np.array(list(runs.values())).T  # (2, M)
    seen = ~_arm_there(pose, lines[at], borders, scale) & (borders > 0) & (borders < width - 1)
    side, number = np.nonzero(seen)
    if len(side):
        found = refined(photo_rgb, pose.mask, rows[at[number]], borders[side, number], np.where(side == 0, -1, 1), scale)
        edges[side, at[number]], sds[side, at[number]] = found
    return Outline(rows, edges, sds)


def _polyline_x(pose: Pose, joints: Sequence[Sequence[int]], rows: Floats | NDArray[np.intp]) -> Floats:
    """x at some rows of the line through the (means of the) joints, which run downwards."""
    points = np.array([pose.points_px[list(group)].mean(axis=0) for group in joints])
    order = np.argsort(points[:, 1])
    return np.asarray(np.interp(rows, points[order, 1], points[order, 0]))


def _run(row: NDArray[np.bool_], x: float) -> tuple[int, int] | None:
    """First and last pixel of the connected run that holds x."""
    at = round(x)
    if not 0 <= at < len(row) or not row[at]:
        return None
    before, after = row[at::-1].argmin(), row[at:].argmin()  # 0 where there is no gap, as the run itself is True
    return (at - int(before) + 1 if before else 0), (at + int(after) - 1 if after else len(row) - 1)


def _arm_there(pose: Pose, rows: NDArray[np.intp], borders: NDArray[np.intp], scale: float) -> NDArray[np.bool_]:
    """Whether each border, shape (2, M), is an arm's outline: the arm's axis lies within the run and close to the border."""
    there = np.zeros(borders.shape, bool)
    for joints in _ARMS:
        arm = pose.points_px[joints]
        beside = (rows >= arm[:, 1].min() - 0.3 * ARM_HALF_MM * scale) & (rows <= arm[:, 1].max() + ARM_HALF_MM * scale)
        x = _polyline_x(pose, [[joint] for joint in joints], rows)
        # cut obliquely by the row a slanting arm is wider
        slant = min(2.0, float(np.hypot(*(arm[2] - arm[0]))) / max(abs(float(arm[2, 1] - arm[0, 1])), 1e-9))
        there |= beside & (borders[0] <= x) & (x <= borders[1]) & (np.abs(borders - x) < ARM_HALF_MM * scale * slant)
    return there


def refined(
    rgb: NDArray[np.uint8],
    mask: NDArray[np.bool_],
    rows: Floats,
    borders: NDArray[np.intp],
    outwards: NDArray[np.intp],
    px_per_mm: float,
) -> tuple[Floats, Floats]:
    """The picture's own edges nearest to the mask's borders.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    mask : ndarray of bool, shape (H, W)
    rows : ndarray, shape (M,)
    borders : ndarray of int, shape (M,)
        Column of the mask's border in each row.
    outwards : ndarray of int, shape (M,)
        1 where the background lies to the right of it, -1 to the left.
    px_per_mm : float

    Returns
    -------
    columns, standard uncertainties : ndarray, shape (M,)
        Of the mask's own border, with a wide doubt, where no clear edge lies beside it.
    """
    slopes = np.array([_slope(mask, round(row), int(border)) for row, border in zip(rows, borders, strict=True)])
    # half a pixel outwards: the mask's border pixel still belongs to her
    middle = borders + 0.5 * outwards
    reach = max(4.0, SEARCH_MM * px_per_mm)
    offset = np.arange(-reach - 3, reach + 3.25, 0.5)  # positive outwards
    lines = np.arange(-ROWS, ROWS + 1)
    x = middle[:, None, None] + offset * outwards[:, None, None] + lines[:, None] * slopes[:, None, None]
    y = np.broadcast_to(rows[:, None, None] + lines[:, None], x.shape)
    flat = (-1, len(offset))
    colours = cv2.remap(
        rgb, x.reshape(flat).astype(np.float32), y.reshape(flat).astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    means = colours.reshape(len(rows), len(lines), len(offset), 3).astype(np.float32).mean(axis=1)
    profiles = cv2.GaussianBlur(means, (17, 1), sigmaX=2.0)
    steps = np.linalg.norm(np.gradient(profiles, axis=1), axis=2) * 4.0  # about the height of a step blurred like this
    likely = np.where(np.abs(offset) <= reach, steps * np.exp(-0.5 * (offset / (0.7 * reach)) ** 2), 0.0)
    peaks = np.zeros(likely.shape, bool)
    peaks[:, 1:-1] = (likely[:, 1:-1] >= likely[:, :-2]) & (likely[:, 1:-1] > likely[:, 2:])
    peaks &= likely >= OUTER_SHARE * likely.max(axis=1, keepdims=True)
    best = np.where(peaks.any(axis=1), len(offset) - 1 - peaks[:, ::-1].argmax(axis=1), 1)  # the outermost
    each = np.arange(len(rows))
    before, here, after = steps[each, best - 1], steps[each, best], steps[each, best + 1]
    between = 0.5 * (before - after) / np.minimum(before - 2 * here + after, -1e-9)
    # other edges nearly as strong: the outline may be one of them
    rivals = np.where(peaks, steps / np.maximum(here, 1e-9)[:, None], 0.0) ** 2
    doubt = np.sqrt((rivals * (offset - offset[best][:, None]) ** 2).sum(axis=1) / np.maximum(rivals.sum(axis=1), 1e-9))
    sd = np.hypot(np.hypot(EDGE_SD_MM * px_per_mm, 0.3), 0.5 * doubt)
    clear = peaks.any(axis=1) & (here >= CLEAR_EDGE)
    found = middle + (offset[best] + 0.5 * np.clip(between, -1, 1)) * outwards
    return np.where(clear, found, middle), np.where(clear, sd, np.hypot(MASK_SD_MM * px_per_mm, 1.0))


def _slope(mask: NDArray[np.bool_], row: int, border: int) -> float:
    """Sideways pixels per row of the mask's border: from the nearest change of the mask some rows above and below."""
    found = []
    for y in (row - SLOPE_ROWS, row + SLOPE_ROWS):
        if 0 <= y < mask.shape[0]:
            changes = np.flatnonzero(np.diff(mask[y].astype(np.int8))) + 0.5
            if len(changes):
                nearest = float(changes[np.abs(changes - border).argmin()])
                if abs(nearest - border) < 2 * SLOPE_ROWS:
                    found.append((y, nearest))
    return (found[1][1] - found[0][1]) / (found[1][0] - found[0][0]) if len(found) == 2 else 0.0
