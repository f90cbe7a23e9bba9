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
        inside = ((index >= 0) & (index < self.mask.shape[::-1])).all(axis=-1)
        column, row = np.moveaxis(np.where(inside[..., None], index, 0), -1, 0)
        return np.asarray(self.mask[row, column] & inside)

    def over(self, shape: tuple[int, ...], low: Floats, mm_per_px: float) -> NDArray[np.bool_]:
        """On another raster, whose first pixel's middle is `low`."""
        y, x = ((np.round((low[axis] - self.low[axis] + np.arange(n) * mm_per_px) / self.mm_per_px)).astype(int) for axis, n in ((1, shape[0]), (0, shape[1])))
        rows, columns = ((at >= 0) & (at < size) for at, size in ((y, self.mask.shape[0]), (x, self.mask.shape[1])))
        found = self.mask[np.ix_(np.where(rows, y, 0), np.where(columns, x, 0))]
        return np.asarray(found & rows[:, None] & columns)
