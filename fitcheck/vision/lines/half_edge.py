"""Coarsely where a half tissue ends towards the middle: the change between its cloth and what is beneath, followed from row to row.

Beside a pen line lies the same cloth on both sides, beside the edge different things. So two strips are compared, of the outer one what is
most like cloth. The course from neck to hem with the lowest price is found by dynamic programming (Viterbi 1967).
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Floats, Pose
from fitcheck.vision.cloth.find_cloth import SMALLEST_TRUNK_PX, Cloth
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS, log_colour

# Estimates, on drawn fittings, where no line says more.
ROW_MM, PLACE_MM = 5.0, 1.5  # between rows, and between places of a row
DOWN = (0.0, 1.25)  # of the trunk, within which the edge is looked for
REACH_MM = 75.0  # of the edge from the pose's axis: 30 that it may lack or overlap, an allowance, and what the pose is off
INSIDE_MM, OUTSIDE_MM = (1.5, 19.0), (0.5, 14.0)  # strips whose colours are compared, to either side: three times as wide as a pen line
ALMOST_LEAST = 1  # of the samples outside, by how much they differ from the cloth: beyond a pen line some lie on cloth again
CLOTH_MM = (10.0, 24.0)  # inside the edge, past an allowance and its line, where cloth must be known for a row to have an edge
MOSTLY = 0.5  # share of that which must be cloth
CLEAR, CLEAR_WORTH = 0.35, 4.0  # change of log colour that is as clear as can be, and its worth
SIDES_WORTH = 3.0  # of nothing like cloth outside, and of nothing else inside ...
NEAR_MM, DEEP_MM = (1.5, 8.0), (5.0, 19.0)  # ... before a line drawn inside, or past one drawn close to the edge
CLOTH_WORTH = 0.3  # of cloth on the one side only
USUAL_STEP_MM, DEAREST_STEP = 1.5, 18.0  # sideways from row to row; price of any leap
BAND = np.arange(-6, 7)  # places a step may go
BLUR_MM, LEAST_BLUR_PX = 1.2, 0.6  # noise and thin print count less
ROOM_PX = 9  # above and below, for that blur
SLOPE_ROWS, STEEPEST = 4, 0.7  # rows over which its slope is taken, sideways per height; a centre front slants by 0.3 at most
LONGEST_GAP = 30  # rows that stickers, pins and print may part


def coarse_edge(rgb: NDArray[np.uint8], pose: Pose, cloth: Cloth, hidden: Sequence[Floats], inwards: int, mm_per_px: float) -> Floats:
    """Where the cloth of a half tissue ends towards the middle, from above, shape (N, 2), pixels; empty where it does not show.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    pose : Pose
    cloth : Cloth
        Learnt on the tissue's side.
    hidden : sequence of ndarray, shape (M, 2)
        Polygons of stickers and dots.
    inwards : int
        -1 where the tissue lies at image left of its edge, 1 at image right.
    mm_per_px : float
    """
    shoulders, hips = pose.points_px[[*SHOULDERS]], pose.points_px[[*HIPS]]
    trunk = max(float(hips[:, 1].mean() - shoulders[:, 1].mean()), SMALLEST_TRUNK_PX)
    y = np.arange(shoulders[:, 1].mean() + DOWN[0] * trunk, shoulders[:, 1].mean() + DOWN[1] * trunk, ROW_MM / mm_per_px)
    y = y[(y >= 0) & (y <= rgb.shape[0] - 1)]
    if not len(y):
        return np.zeros((0, 2))
    share = (y - shoulders[:, 1].mean()) / trunk
    axis = shoulders[:, 0].mean() + share * (hips[:, 0].mean() - shoulders[:, 0].mean())
    wide = REACH_MM + CLOTH_MM[1]
    along = np.arange(-wide, wide + PLACE_MM / 2, PLACE_MM)
    x = axis[:, None] + inwards * along / mm_per_px
    rows = np.broadcast_to(y[:, None], x.shape)
    colour = _sampled(rgb, x, rows, mm_per_px) * COLOUR_WEIGHTS.astype(np.float32)
    on_cloth, free = _on_cloth(cloth, x, rows), ~_within(hidden, x, rows)
    places = np.flatnonzero(np.abs(along) < REACH_MM + PLACE_MM / 2)
    inside, outside = (_strip(places, near, far) for near, far in (INSIDE_MM, (-OUTSIDE_MM[1], -OUTSIDE_MM[0])))
    usual = np.median(colour[:, inside], axis=2)
    away = np.linalg.norm(colour[:, outside] - usual[:, :, None], axis=3)
    change = np.partition(away, ALMOST_LEAST, axis=2)[:, :, ALMOST_LEAST]
    one_sided = on_cloth[:, inside].mean(axis=2) - on_cloth[:, outside].mean(axis=2)
    seen = free[:, inside].all(axis=2) & free[:, outside].all(axis=2)
    other = np.minimum(away / CLEAR, 1.0).mean(axis=2)
    within = [np.linalg.norm(colour[:, _strip(places, *strip)] - usual[:, :, None], axis=3) for strip in (NEAR_MM, DEEP_MM)]
    alike = 1 - np.minimum(*(np.minimum(part / CLEAR, 1.0).mean(axis=2) for part in within))
    worth = CLEAR_WORTH * np.minimum(change / CLEAR, 1.0) + SIDES_WORTH * (other + alike) + CLOTH_WORTH * one_sided
    price = -np.where(seen, worth, 0.0)
    course = _cheapest(price)
    at = np.arange(len(y))
    covered = on_cloth[:, _strip(places, *CLOTH_MM)].mean(axis=2)[at, course] > MOSTLY
    edge = np.column_stack([x[at, places[course]], y])
    return _upright(edge[_longest_run(covered)])


def _upright(edge: Floats) -> Floats:
    """The edge without its ends where it turns off into a neckline or a hem."""
    if len(edge) < 2 * SLOPE_ROWS:
        return edge
    slope = np.abs(edge[SLOPE_ROWS:, 0] - edge[:-SLOPE_ROWS, 0]) / (edge[SLOPE_ROWS:, 1] - edge[:-SLOPE_ROWS, 1])
    turned = np.flatnonzero(slope > STEEPEST)
    middle = len(slope) // 2
    first = max((int(i) + SLOPE_ROWS for i in turned if i < middle), default=0)
    last = min((int(i) for i in turned if i >= middle), default=len(edge) - 1)
    return edge[first : last + 1]


def _strip(places: NDArray[np.intp], near: float, far: float) -> NDArray[np.intp]:
    """Numbers of the samples from `near` to `far` mm beside each place, shape (places, samples)."""
    return np.asarray(places[:, None] + np.arange(round(near / PLACE_MM), round(far / PLACE_MM) + 1))


def _sampled(rgb: NDArray[np.uint8], x: Floats, y: Floats, mm_per_px: float) -> NDArray[np.float32]:
    top, bottom = max(0, int(y.min()) - ROOM_PX), int(y.max()) + ROOM_PX
    blurred = cv2.GaussianBlur(rgb[top:bottom], (0, 0), max(BLUR_MM / mm_per_px, LEAST_BLUR_PX))
    at = (x.astype(np.float32), (y - top).astype(np.float32))
    return log_colour(cv2.remap(blurred, *at, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))


def _on_cloth(cloth: Cloth, x: Floats, y: Floats) -> NDArray[np.bool_]:
    column, row = (np.floor((at - first) / cloth.stride).astype(int) for at, first in zip((x, y), cloth.box_px[:2], strict=True))
    within = (row >= 0) & (row < cloth.mask.shape[0]) & (column >= 0) & (column < cloth.mask.shape[1])
    found = np.zeros(x.shape, bool)
    found[within] = cloth.mask[row[within], column[within]]
    return found


def _within(polygons: Sequence[Floats], x: Floats, y: Floats) -> NDArray[np.bool_]:
    """Which samples lie in the box around one of the polygons."""
    found = np.zeros(x.shape, bool)
    for polygon in polygons:
        (left, top), (right, bottom) = polygon.min(axis=0), polygon.max(axis=0)
        found |= (x >= left) & (x <= right) & (y >= top) & (y <= bottom)
    return found


def _cheapest(price: Floats) -> NDArray[np.intp]:
    """The place of every row of the course with the lowest total."""
    step = np.minimum(0.5 * (BAND * PLACE_MM / USUAL_STEP_MM) ** 2, DEAREST_STEP)
    total, back = price[0], []
    edge = len(BAND) // 2
    for here in price[1:]:
        padded = np.pad(total, edge, constant_values=np.inf)
        ways = np.stack([padded[edge + by : edge + by + len(total)] + cost for by, cost in zip(BAND, step, strict=True)])
        best = ways.argmin(axis=0)
        back.append(np.arange(len(total)) + BAND[best])
        total = ways.min(axis=0) + here
    course = [int(total.argmin())]
    for came in reversed(back):
        course.append(int(came[course[-1]]))
    return np.array(course[::-1])


def _longest_run(seen: NDArray[np.bool_]) -> slice:
    """From the first to the last row of the longest run, in which no gap is longer than a sticker."""
    at = np.flatnonzero(seen)
    if not len(at):
        return slice(0, 0)
    run = max(np.split(at, np.flatnonzero(np.diff(at) > LONGEST_GAP) + 1), key=len)
    return slice(int(run[0]), int(run[-1]) + 1)
