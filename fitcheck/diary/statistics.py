"""The few statistics the diary needs, in numpy and the standard library alone: importing scipy.stats takes longer than a whole command may.

The tests compare each with scipy.
"""

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.core.slopes import slopes

Z95 = NormalDist().inv_cdf(0.975)


def mdc95(sem: float) -> float:
    """Smallest detectable change between two single measurements: 1.96 sqrt(2) SEM (Weir 2005, J Strength Cond Res 19:231; from memory)."""
    return Z95 * math.sqrt(2.0) * sem


def technical_error(groups: Sequence[Sequence[float]]) -> tuple[float, int]:
    """Technical error of measurement from repeats, and its degrees of freedom.

    The square root of the pooled variance within groups; for pairs that is sqrt(sum d^2 / 2N) (Dahlberg 1940; from memory).

    Returns
    -------
    tuple of float, int
        (nan, 0) where nothing was repeated.
    """
    squares, free = 0.0, 0
    for group in groups:
        if len(group) > 1:
            middle = sum(group) / len(group)
            squares += sum((x - middle) ** 2 for x in group)
            free += len(group) - 1
    return (math.sqrt(squares / free) if free else math.nan), free


def theil_sen(y: Floats, x: Floats, confidence: float = 0.95) -> tuple[float, float, float]:
    """Median of all slopes between two points, and its interval (Theil 1950; Sen 1968, with ties).

    Parameters
    ----------
    y, x : ndarray, shape (N,)
        At least two different x.

    Returns
    -------
    slope, low, high : float
        The interval is as wide as all slopes where there are too few points for one.
    """
    every, n = slopes(y, x), len(y)
    _, ties_x = np.unique(x, return_counts=True)
    _, ties_y = np.unique(y, return_counts=True)
    tied = sum(float(k * (k - 1) * (2 * k + 5)) for k in (*ties_x, *ties_y))
    sigma = math.sqrt(max(n * (n - 1) * (2 * n + 5) - tied, 0.0) / 18)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    upper = min(round((len(every) + z * sigma) / 2), len(every) - 1)
    lower = max(round((len(every) - z * sigma) / 2) - 1, 0)
    return float(np.median(every)), float(every[lower]), float(every[upper])


def t_quantile(p: float, df: float) -> float:
    """Quantile of Student's distribution by its expansion about the normal (Abramowitz & Stegun 26.7.5); good for 5 degrees and more."""
    z = NormalDist().inv_cdf(p)
    g1 = (z**3 + z) / 4
    g2 = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    g3 = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    g4 = (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160
    return z + g1 / df + g2 / df**2 + g3 / df**3 + g4 / df**4
