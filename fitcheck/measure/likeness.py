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

# Beside what the adjustment shares, both sides stray alike: the statistical body is the same left and right, and so is what it is wrong by.
# Seen in 106 drawn fittings .7 to .9, and .3 to .5 by the adjustment, in what is measured forward and up; outwards and at the neck not.
BOTH_SIDES = 0.6
LIKE_SIDES = ("side_seam_forward", "side_seam_tilt", "bust_mark_above", "waist_mark_above", "shoulder_seam_behind_tip")


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
    alike = covariance / np.outer(sd, sd)
    one = _one_side(measurements)
    # a mixture of two correlation matrices is one
    return [[float(rho) for rho in row] for row in (1 - BOTH_SIDES) * alike + BOTH_SIDES * alike[np.ix_(one, one)]]


def _one_side(measurements: Sequence[Measurement]) -> list[int]:
    """Of each measurement the number of its like on the left, where there is one and both sides stray alike; else its own."""
    left = {(m.id, m.at): k for k, m in enumerate(measurements) if m.side == "wearer_left" and f"{m.id}_{m.at}".startswith(LIKE_SIDES)}
    return [left.get((m.id, m.at), k) if m.side == "wearer_right" else k for k, m in enumerate(measurements)]
