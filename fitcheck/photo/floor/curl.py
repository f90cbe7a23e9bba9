"""How a sheet's corners rise off the floor.

Paper bends one way only: a corner that curls is a piece of a cylinder, bent about a line square to the sheet's diagonal. So its height
grows with the square of how far beyond that line one is. Where the line lies differs: for every corner two such bends, begun at two places,
are added up in whatever amounts fit.
"""

import numpy as np

from fitcheck.core.records import Floats

HALF_MM = np.array([146.0, 106.0])  # of the paper, between A4's and Letter's
MIDDLE_MM = np.array([0.0, -8.0])  # of the paper, from the middle of the squares: below them stands the long bar
SENSES = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]])  # of the corners: upper left, upper right, lower right, lower left
BEGINS = (0.35, 0.55)  # of the way from the middle to a corner (estimate)
BENDS = len(SENSES) * len(BEGINS)


def corner_rise(on_sheet_mm: Floats) -> Floats:
    """How high each point of a sheet lies for every millimetre by which a corner stands up.

    Parameters
    ----------
    on_sheet_mm : ndarray, shape (N, 2)
        In the sheet's frame.

    Returns
    -------
    ndarray, shape (N, BENDS)
        By the bends that begin first, corner after corner, then by the others.
    """
    outwards = (on_sheet_mm - MIDDLE_MM) / HALF_MM @ SENSES.T / 2  # 1 at the corner
    bends = [np.clip((outwards - begin) / (1 - begin), 0.0, None) ** 2 for begin in BEGINS]
    return np.concatenate(bends, axis=1)
