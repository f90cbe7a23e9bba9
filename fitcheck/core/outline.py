"""Where the trunk's edges lie in one photo, as handed from the picture to the body."""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from fitcheck.core.records import Floats


@dataclass(frozen=True, slots=True)
class Outline:
    """The trunk's edges in some rows of one photo.

    Attributes
    ----------
    rows_px : ndarray, shape (N,)
    edges_px, sds_px : ndarray, shape (2, N)
        Column of the edge at image left and at image right, NaN where it is hidden, and its standard uncertainty.
    """

    rows_px: Floats
    edges_px: Floats
    sds_px: Floats

    def doubted(self, times: float) -> Self:
        """The same edges, so many times as uncertain."""
        return replace(self, sds_px=self.sds_px * times)

    def above(self, row_px: float) -> Self:
        """The same edges, none below a row."""
        return replace(self, edges_px=np.where(self.rows_px > row_px, np.nan, self.edges_px))
