"""How alike the errors of the measurements of one fitting are: solved for together, they are unsure of much by one and the same thing.

A side seam is read at three heights against one point under the arm; both bust marks hang on one guess of how high she is. Two readings
that share their error count little more than one where they agree, and where they differ the difference is surer than either of them
(law of propagation of uncertainty with correlated input quantities, JCGM 100:2008, 5.2).
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.records import Floats, Measurement
from fitcheck.core.solution import Derived


def with_likeness(measurements: Sequence[Measurement], derived: Sequence[Derived]) -> tuple[Measurement, ...]:
    """The measurements, each with how alike its error is to every other one's.

    Parameters
    ----------
    measurements : sequence of Measurement
        Of one solution.
    derived : sequence of Derived
        What each was computed as, in the same order; what its `sd` holds beyond its `errors` is the doubt of what a point means, which
        the levels of one observable on one side share.
    """
    keys = [m.key for m in measurements]
    told = [dict(zip(keys, row, strict=True)) for row in _correlations(measurements, derived)]
    return tuple(replace(m, alike=alike) for m, alike in zip(measurements, told, strict=True))


def _correlations(measurements: Sequence[Measurement], derived: Sequence[Derived]) -> list[list[float]]:
    if not measurements:
        return []
    errors = np.stack([d.errors for d in derived])
    sd = np.array([d.sd for d in derived])
    vague = np.sqrt(np.maximum(sd**2 - (errors**2).sum(axis=1), 0.0))
    meant = np.array([f"{m.id} {m.side}" for m in measurements])
    covariance: Floats = errors @ errors.T + np.where(meant[:, None] == meant[None, :], np.outer(vague, vague), 0.0)
    return [[float(rho) for rho in row] for row in covariance / np.outer(sd, sd)]
