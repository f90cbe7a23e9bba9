"""A frame of the trunk in one photo, in which seams are known by where they run.

`down` is 0 at the shoulders and 1 at the hips, `across` runs from -1 to 1 between the garment's outlines at that height.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Floats, Pose, Side, View
from fitcheck.vision.cloth.find_cloth import SMALLEST_TRUNK_PX, Cloth

UNEVEN = 0.7  # of the halves of a trunk seen from the front or back; turned or leaning ones keep above (estimate)
STICKER_CELLS = 15  # gap in a row of cloth that a sticker may leave
AXIS_CELLS = 8  # a gap so near to the body's axis is an open front's, and bridged (estimate)
LENGTH_COUNTS = 0.05  # cells nearer to the axis that a cell more of a run is worth (estimate)
HALF_WIDTH = 0.35  # of the trunk's length: where no cloth is known the outline is taken to be there (estimate)
SMOOTH = 4  # rows to either side over which the outline's median is taken


@dataclass(frozen=True, slots=True)
class TrunkFrame:
    """Where shoulders, hips and outlines of the garment lie in one photo."""

    view: View
    shoulder_px: Floats  # (2,) middle of the shoulders
    half_px: float  # half the distance of the shoulder points as seen
    trunk_px: float  # shoulders to hips
    outline_px: Floats  # (H, 2) image left and right outline of the garment, by image row
    mm_per_px: float

    def down(self, points: Floats) -> Floats:
        """0 at the shoulders, 1 at the hips."""
        return np.asarray((points[:, 1] - self.shoulder_px[1]) / self.trunk_px)

    def across(self, points: Floats) -> Floats:
        """-1 at the image left outline of the garment, 1 at the right one."""
        left, right = self.outline_px[np.clip(np.round(points[:, 1]).astype(int), 0, len(self.outline_px) - 1)].T
        return np.asarray((2 * points[:, 0] - left - right) / np.maximum(right - left, 1.0))

    def side_of(self, across: float) -> Side:
        """The wearer's side of a place in a front or back view."""
        return "wearer_left" if (across > 0) == (self.view == "front") else "wearer_right"


def trunk_frame(pose: Pose, cloth: Cloth, view: View, mm_per_px: float) -> TrunkFrame:
    """Build the frame from the pose and the cloth's outline, row by row."""
    shoulders, hips = pose.points_px[[*SHOULDERS]], pose.points_px[[*HIPS]]
    trunk = max(float(hips[:, 1].mean() - shoulders[:, 1].mean()), SMALLEST_TRUNK_PX)
    height = pose.mask.shape[0]
    x0, y0 = cloth.box_px[:2]
    rows = np.flatnonzero(cloth.mask.any(1))
    if len(rows) == 0:
        middle = hips[:, 0].mean()
        outline = np.tile([middle - HALF_WIDTH * trunk, middle + HALF_WIDTH * trunk], (height, 1))
    else:
        y = y0 + cloth.stride * (rows + 0.5)
        axis = np.interp(y, [shoulders[:, 1].mean(), hips[:, 1].mean()], [shoulders[:, 0].mean(), hips[:, 0].mean()])
        left, right = _runs_at(cloth.mask[rows], (axis - x0) / cloth.stride)
        if view in ("front", "back"):
            left, right = _evened(left, right, (axis - x0) / cloth.stride)
        outline = np.stack([np.interp(np.arange(height), y, x0 + cloth.stride * _median(edge)) for edge in (left, right)], 1)
    return TrunkFrame(view, shoulders.mean(0), float(np.ptp(shoulders[:, 0])) / 2, trunk, outline, mm_per_px)


def _runs_at(mask: NDArray[np.bool_], x: Floats) -> tuple[Floats, Floats]:
    """First and past the last cell of the cloth at x in each row; gaps of a sticker's width, or at x (an open front), are bridged."""
    first, past = mask.argmax(axis=1), mask.shape[1] - mask[:, ::-1].argmax(axis=1)
    for i in np.flatnonzero(past - first - mask.sum(axis=1) >= STICKER_CELLS):
        first[i], past[i] = _run_at(mask[i], float(x[i]))
    return first.astype(float), past.astype(float)


def _run_at(row: NDArray[np.bool_], x: float) -> tuple[int, int]:
    cells = np.flatnonzero(row)
    gaps = [i for i in np.flatnonzero(np.diff(cells) > STICKER_CELLS) if not (cells[i] < x + AXIS_CELLS and cells[i + 1] > x - AXIS_CELLS)]
    runs = np.split(cells, np.array(gaps, int) + 1)
    best = min(runs, key=lambda run: max(run[0] - x, x - run[-1], 0.0) - LENGTH_COUNTS * len(run))
    return int(best[0]), int(best[-1]) + 1


def _evened(left: Floats, right: Floats, middle: Floats) -> tuple[Floats, Floats]:
    """The cloth's outlines; one far nearer to the body's axis than the other is taken from the other, as there the cloth was not known."""
    reach = np.maximum(middle - left, right - middle) * UNEVEN
    return np.where(middle - left < reach, 2 * middle - right, left), np.where(right - middle < reach, 2 * middle - left, right)


def _median(edge: Floats) -> Floats:
    padded = np.pad(np.asarray(edge, float), SMOOTH, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * SMOOTH + 1), axis=1))
