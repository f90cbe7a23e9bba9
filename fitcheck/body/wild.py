"""How much a row of the joint adjustment counts by how far off it is: scatter counts whole, what can only be a mistake hardly."""

import numpy as np

from fitcheck.body.parameters import Rows
from fitcheck.core.records import Floats

HUBER = 3.0  # standard deviations from which on what is seen counts less: scatter stays within, mistakes do not; estimate
REDESCEND = 3.5  # what is known beforehand counts less the more it is contradicted
# Over 98 draped fittings the squared errors of what is measured go with the misfit: doubts are as told up to so much for each coordinate
# and edge that is seen, and grow with what lies beyond, to so many times. Set on 38 of them.
MISFIT_EACH, MOST_STRAIN = 0.6, 2.0


def strain(misfit: float, seen: float) -> float:
    """By what all doubts are multiplied: how unlike all that was learnt from body, stance, cloth and room are, shows in the misfit.

    Parameters
    ----------
    misfit : float
        As `capped`, of all rows.
    seen : float
        How many coordinates and edges are seen, alike ones counted as one.
    """
    return float(np.clip(np.sqrt(misfit / (MISFIT_EACH * seen)), 1.0, MOST_STRAIN))


def weighted(rows: Rows, weight: Floats) -> Rows:
    """The rows times their weights, (R,)."""
    return Rows(rows.columns, rows.jacobian * weight[:, None], rows.residuals * weight)


def doubted(residual: Floats) -> Floats:
    """Weights (R,) that go on falling, for residuals (R,) in standard deviations."""
    return np.asarray(1 / (1 + (residual / REDESCEND) ** 2))


def capped(residual: Floats) -> float:
    """Sum of the squares, none of which counts more than `REDESCEND` squared."""
    return float((residual**2 * doubted(residual)).sum())


def huber(residual: Floats) -> Floats:
    """Weights (R,) under which a row that is far off pulls no harder than one `HUBER` off (Huber 1964)."""
    return np.asarray(np.minimum(1.0, HUBER / np.maximum(np.abs(residual), 1e-9)) ** 0.5)
