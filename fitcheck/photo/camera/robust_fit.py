"""Least squares in which single bad sightings count less than by their squares.

Levenberg-Marquardt with the soft L1 loss 2 c^2 (sqrt(1 + (r / c)^2) - 1), its second derivative taken into the weights (Triggs et al.
2000, "Bundle Adjustment - A Modern Synthesis", 4.3). Scipy does the same, but takes five times as long for ten unknowns, and 0.2 s to
import.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.core.records import Floats

ROBUST_FROM_SD = 3.0  # misfits beyond it count less than by their squares; estimate
MOST_STEPS = 50  # a fit takes 4 to 10
STEP_STOP = 1e-4  # standard deviations, all unknowns together: a thousandth of what any answer is told to
FIRST_DAMPING, LEAST_DAMPING, MOST_DAMPING, RELAX = 1e-3, 1e-9, 1e9, 10.0  # shares of the normal matrix's diagonal; estimates


@dataclass(frozen=True, slots=True)
class RobustFit:
    """Unknowns, shape (K,); the normal matrix there, (K, K), whose inverse is their covariance; and half the summed loss."""

    x: Floats
    normal: Floats
    cost: float


def robust_fit(rows: Callable[[Floats], tuple[Floats, Floats]], start: Floats) -> RobustFit:
    """Refine unknowns until they move by less than a ten-thousandth of their standard deviation.

    Parameters
    ----------
    rows : callable
        Residuals (N,) in standard deviations and their slopes (N, K) for some unknowns (K,).
    start : ndarray, shape (K,)

    Returns
    -------
    RobustFit
    """
    here, downhill = _about(start, *rows(start))
    damping = FIRST_DAMPING
    for _ in range(MOST_STEPS):
        step = cv2.solve(here.normal + damping * np.diag(np.diag(here.normal)), downhill, flags=cv2.DECOMP_CHOLESKY)[1][:, 0]
        there, on = _tried(rows, here.x + step)
        if there.cost <= here.cost:
            damping = max(damping / RELAX, LEAST_DAMPING)
            settled = step @ here.normal @ step < STEP_STOP**2
            here, downhill = there, on
            if settled:
                break
        elif damping > MOST_DAMPING or step @ here.normal @ step < STEP_STOP**2:  # rounding alone is in the way
            break
        else:
            damping *= RELAX
    return here


def _tried(rows: Callable[[Floats], tuple[Floats, Floats]], x: Floats) -> tuple[RobustFit, Floats]:
    """As `_about`; a step so far that numbers run over is worse than any other."""
    try:
        with np.errstate(over="ignore", invalid="ignore"):
            return _about(x, *rows(x))
    except OverflowError:
        return RobustFit(x, np.zeros((len(x), len(x))), math.inf), np.zeros(len(x))


def _about(x: Floats, residuals: Floats, slopes: Floats) -> tuple[RobustFit, Floats]:
    """The fit if it ended at `x`, and the right side of the normal equations there.

    Slopes over the (3/4)th power of `beyond` and residuals times its fourth root make them those of this loss to the second order
    (Triggs et al. 2000).
    """
    beyond = 1 + (residuals / ROBUST_FROM_SD) ** 2
    cost = ROBUST_FROM_SD**2 * float((np.sqrt(beyond) - 1).sum())
    root = np.sqrt(np.sqrt(beyond))  # powers take five times as long
    weighted = slopes / (root**3)[:, None]
    return RobustFit(x, weighted.T @ weighted, cost), -weighted.T @ (residuals * root)
