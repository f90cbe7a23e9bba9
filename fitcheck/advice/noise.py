"""The noise of the fit equation: how far what was measured may be wrong, how far cloth strays from the table, and what of it is shared."""

from collections.abc import Sequence

import numpy as np

from fitcheck.advice.rows import Observable
from fitcheck.core.records import Floats, Measurement

SIDES_ALIKE = 0.8  # correlation of the errors of left and right body points, guessed from the same outline (estimate)
LEAST_SD = 0.05  # nothing is measured more exactly than this, mm or degrees


def straying_noise(observables: Sequence[Observable], used: Sequence[Measurement]) -> Floats:
    """Covariance of how cloth strays: shared within a family of observables by the table's share."""
    straying = np.array([o.straying(m.at) for o, m in zip(observables, used, strict=True)])
    common = straying * np.sqrt([o.model.shared for o in observables])
    families = np.array([o.family for o in observables])
    noise = np.where(families[:, None] == families[None, :], np.outer(common, common), 0.0)
    np.fill_diagonal(noise, straying**2)
    return noise


def measuring_noise(observables: Sequence[Observable], used: Sequence[Measurement]) -> Floats:
    """Covariance of the errors of measuring. They are as alike as the measurements say; where those do not, independent, but for levels
    measured from one body point: they have all but the picture's own error in common, the two sides most of it."""
    sides = np.array([str(m.side) for m in used])
    ids = np.array([o.id if o.one_point else str(k) for k, o in enumerate(observables)])
    point = np.sqrt([sum(sd**2 for name, sd in m.sources.items() if name != "pixel") for m in used])
    alike = np.where(sides[:, None] == sides[None, :], 1.0, SIDES_ALIKE)
    guessed = np.where(ids[:, None] == ids[None, :], alike * np.outer(point, point), 0.0)
    sd = np.array([m.sd for m in used])
    told = np.array([[a.alike.get(b.key, np.nan) for b in used] for a in used]).reshape(len(used), len(used)) * np.outer(sd, sd)
    noise = np.where(np.isfinite(told), told, guessed)
    np.fill_diagonal(noise, np.maximum(sd, LEAST_SD) ** 2)
    return noise
