"""Slopes between points, of which the median is the slope of a line that single bad points do not move (Theil 1950; Sen 1968)."""

import numpy as np

from fitcheck.core.records import Floats


def slopes(y: Floats, x: Floats) -> Floats:
    """Slopes between any two of N points, smallest first; pairs of one x are passed over.

    Parameters
    ----------
    y, x : ndarray, shape (N,)
        At least two different x.
    """
    i, j = np.triu_indices(len(x), 1)
    apart = x[j] - x[i]
    return np.sort((y[j] - y[i])[apart != 0] / apart[apart != 0])
