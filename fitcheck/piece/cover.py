"""What lies on the table and is neither table nor paper: a hand, a weight. Nothing is seen beneath it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats


@dataclass(frozen=True, slots=True)
class Cover:
    """Where something lies.

    Attributes
    ----------
    mask : ndarray of bool, shape (H, W)
    low : ndarray, shape (2,)
        Table coordinates of the first pixel's middle.
    mm_per_px : float
    """

    mask: NDArray[np.bool_]
    low: Floats
    mm_per_px: float

    def at(self, points: Floats) -> NDArray[np.bool_]:
        """Whether it lies on places of any shape (..., 2)."""
        index = np.round((points - self.low) / self.mm_per_px).astype(int)
        column, row = index[..., 0], index[..., 1]
        rows, columns = self.mask.shape
        inside = (column >= 0) & (column < columns) & (row >= 0) & (row < rows)
        return np.asarray(self.mask[np.where(inside, row, 0), np.where(inside, column, 0)] & inside)

    def over(self, shape: tuple[int, ...], low: Floats, mm_per_px: float) -> NDArray[np.bool_]:
        """On another raster, whose first pixel's middle is `low`."""
        down, across = (
            np.round((low[axis] - self.low[axis] + np.arange(count) * mm_per_px) / self.mm_per_px).astype(int)
            for axis, count in ((1, shape[0]), (0, shape[1]))
        )
        rows, columns = ((at >= 0) & (at < size) for at, size in zip((down, across), self.mask.shape, strict=True))
        found = self.mask[np.ix_(np.where(rows, down, 0), np.where(columns, across, 0))]
        return np.asarray(found & rows[:, None] & columns)
