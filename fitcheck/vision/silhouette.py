"""Where the trunk ends against the background, row by row, finer than the coarse person mask.

The mask of the pose model is made on a 256 px grid, so its border wanders by several pixels; the picture's own edge beside it is
sharp. The arms belong to the mask but not to the trunk: where the border is an arm's, the trunk's is hidden.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

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


def torso_edges(photo_rgb: NDArray[np.uint8], pose: Pose, rows_px: Sequence[float]) -> tuple[Floats, Floats, Floats]:
    """The trunk's (or neck's) left and right edge in the picture at some rows.

    Parameters
    ----------
    photo_rgb : ndarray of uint8, shape (H, W, 3)
    pose : Pose
    rows_px : sequence of float, length N

    Returns
    -------
    left_x, right_x, sd : ndarray, shape (N,)
        Pixels. An edge is NaN where it is outside the picture or an arm hides it; `sd` is the worse one's standard uncertainty.
    """
    height, width = pose.mask.shape
    scale = px_per_mm(pose)
    edges = np.full((2, len(rows_px)), np.nan)
    sds = np.full((2, len(rows_px)), np.nan)
    for i, row in enumerate(rows_px):
        y = round(float(row))
        if not 0 <= y < height:
            continue
        run = _run(pose.mask[y], _polyline_x(pose, (_EARS, _SHOULDERS, _HIPS, _KNEES), y))
        if run is None:
            continue
        for side, (border, outwards) in enumerate(((run[0], -1), (run[1], 1))):
            if border in (0, width - 1) or _arm_there(pose, y, run, border, scale):
                continue
            edges[side, i], sds[side, i] = _refined(photo_rgb, pose.mask, float(row), border, outwards, scale)
    worse = np.fmax(sds[0], sds[1])
    return edges[0], edges[1], worse


def _polyline_x(pose: Pose, joints: Sequence[Sequence[int]], y: float) -> float:
    """x at row y of the line through the (means of the) joints, which run downwards."""
    points = np.array([pose.points_px[list(group)].mean(axis=0) for group in joints])
    order = np.argsort(points[:, 1])
    return float(np.interp(y, points[order, 1], points[order, 0]))


def _run(row: NDArray[np.bool_], x: float) -> tuple[int, int] | None:
    """First and last pixel of the connected run that holds x."""
    at = round(x)
    if not 0 <= at < len(row) or not row[at]:
        return None
    gaps = np.flatnonzero(~row)
    left, right = gaps[gaps < at], gaps[gaps > at]
    return (int(left[-1]) + 1 if len(left) else 0), (int(right[0]) - 1 if len(right) else len(row) - 1)


def _arm_there(pose: Pose, y: int, run: tuple[int, int], border: int, scale: float) -> bool:
    """Whether the border at this row is an arm's outline: the arm's axis lies within the run and close to the border."""
    for joints in _ARMS:
        arm = pose.points_px[joints]
        if not arm[:, 1].min() - 0.3 * ARM_HALF_MM * scale <= y <= arm[:, 1].max() + ARM_HALF_MM * scale:
            continue
        x = _polyline_x(pose, [[joint] for joint in joints], y)
        # cut obliquely by the row a slanting arm is wider
        slant = min(2.0, float(np.hypot(*(arm[2] - arm[0]))) / max(abs(float(arm[2, 1] - arm[0, 1])), 1e-9))
        if run[0] <= x <= run[1] and abs(border - x) < ARM_HALF_MM * scale * slant:
            return True
    return False


def _refined(
    rgb: NDArray[np.uint8], mask: NDArray[np.bool_], row: float, border: int, outwards: int, px_per_mm: float
) -> tuple[float, float]:
    """The picture's own edge nearest to the mask's border, and its standard uncertainty."""
    slope = _slope(mask, round(row), border)
    # half a pixel outwards: the mask's border pixel still belongs to her
    middle = border + 0.5 * outwards
    reach = max(4.0, SEARCH_MM * px_per_mm)
    offset = np.arange(-reach - 3, reach + 3.25, 0.5)  # positive outwards
    lines = np.arange(-ROWS, ROWS + 1)
    x = middle + offset[None, :] * outwards + lines[:, None] * slope
    y = np.broadcast_to(row + lines[:, None], x.shape)
    colours = cv2.remap(rgb, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    profile = cv2.GaussianBlur(colours.astype(np.float32).mean(axis=0)[None], (0, 0), sigmaX=2.0)[0]
    step = np.linalg.norm(np.gradient(profile, axis=0), axis=1) * 4.0  # about the height of a step blurred like this
    inside = np.abs(offset) <= reach
    likely = np.where(inside, step * np.exp(-0.5 * (offset / (0.7 * reach)) ** 2), 0.0)
    peaks = np.flatnonzero((likely[1:-1] >= likely[:-2]) & (likely[1:-1] > likely[2:])) + 1
    peaks = peaks[likely[peaks] >= OUTER_SHARE * likely.max()]
    if len(peaks) == 0 or step[peaks[-1]] < CLEAR_EDGE:
        return middle, float(np.hypot(MASK_SD_MM * px_per_mm, 1.0))
    best = int(peaks[-1])
    before, here, after = step[best - 1 : best + 2]
    between = 0.5 * (before - after) / min(before - 2 * here + after, -1e-9)
    # other edges nearly as strong: the outline may be one of them
    rivals = step[peaks] / step[best]
    doubt = float(np.sqrt(np.sum(rivals**2 * (offset[peaks] - offset[best]) ** 2) / np.sum(rivals**2)))
    sd = float(np.hypot(np.hypot(EDGE_SD_MM * px_per_mm, 0.3), 0.5 * doubt))
    return middle + (offset[best] + 0.5 * float(np.clip(between, -1, 1))) * outwards, sd


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
