"""The normal distribution. Scipy has it too, but takes 0.4 s to import, which is more than pose and stickers of four photos take."""

import math

import numpy as np

from fitcheck.core.records import Floats

_ERFC = np.frompyfunc(math.erfc, 1, 1)


def share_below(value: Floats | float) -> Floats:
    """The share of a standard normal distribution that lies below a value, for each of them.

    Parameters
    ----------
    value : ndarray or float
        In standard deviations from the mean.
    """
    return np.asarray(_ERFC(np.asarray(value, float) * -math.sqrt(0.5)), float) / 2
