"""What to measure next: how much each observable that was not measured would tell about which alterations are needed.

The expected information is the mutual information between the set of needed alterations and the reading (Lindley 1956): the entropy of
the predicted reading, a mixture over the weighed sets, less its mean entropy within each set; both by quadrature.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.advice.equation import Equation, Place, effects_at
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.weigh import Hypotheses
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Floats, Side, measurement_key

MOST_HYPOTHESES = 150
GRID = 161
WORTH_BITS = 0.02


@dataclass(frozen=True, slots=True)
class Help:
    """One observable that would help, and by how much (bits)."""

    id: str
    at: str
    side: Side | None
    bits: float

    @property
    def key(self) -> str:
        """As `Measurement.key`."""
        return measurement_key(self.id, self.at, self.side)


def expected_information(fit: Equation, found: Hypotheses, table: Knowledge, fitting: FittingFacts) -> tuple[Help, ...]:
    """Rank the observables that were not measured by the bits each is expected to tell.

    A reading is taken to be as exact as a good photo makes it, half the tolerance (estimate). Amounts enter with their own variance only,
    without their correlations.

    Returns
    -------
    tuple of Help
        Most telling first; what tells next to nothing is left out.
    """
    ids = [frozenset(fit.columns[j].alteration.id for j in members) for members in found.sets[:MOST_HYPOTHESES]]
    number = {one: i for i, one in enumerate(dict.fromkeys(ids))}
    group = np.array([number[one] for one in ids])
    order = np.argsort(group, kind="stable")
    starts = np.flatnonzero(np.diff(group[order], prepend=-1))
    weight = found.weight[order] / found.weight[order].sum()
    places = _not_measured(fit, table, fitting)
    seen = fit.signal > 0
    helps = []
    for (observable, at, side), effect in zip(places, effects_at(places, fit.columns), strict=True):
        if not effect.any() or ((observable.by_hand or observable.unread) and not (seen & (effect != 0)).any()):
            continue  # the tape is fetched for what is in question already, not for what no photo shows
        noise = observable.straying(at) ** 2 + (observable.tolerance.amount / 2) ** 2
        mean = found.mean[order] @ effect
        variance = found.variance[order] @ effect**2 + noise
        if _at_most(weight, mean, variance) > WORTH_BITS:
            bits = _mutual_information(weight, mean, variance, starts)
            if bits > WORTH_BITS:
                helps.append(Help(observable.id, at, side, bits))
    return tuple(sorted(helps, key=lambda h: -h.bits))


def _not_measured(fit: Equation, table: Knowledge, fitting: FittingFacts) -> list[Place]:
    """Where something could be measured besides; not where both sides were measured as one, nor where a half tissue covers nothing."""
    keys, whole = set(fit.keys), {(m.id, m.at) for m in fit.measured if m.side is None}
    worn = fitting.worn_told.side
    return [
        (observable, at, side)
        for observable in table.observables.values()
        for at in observable.levels
        if observable.applies(at, fitting) and (observable.id, at) not in whole
        for side in observable.sides(at)
        if measurement_key(observable.id, at, side) not in keys and (worn is None or side is None or side == worn)
    ]


def _at_most(weight: Floats, mean: Floats, variance: Floats) -> float:
    """Bits that a reading can tell at most: as if it were Gaussian, which of all with its variance has the largest entropy."""
    middle = weight @ mean
    whole = weight @ (variance + (mean - middle) ** 2)
    return float((np.log(whole) - weight @ np.log(variance)) / (2 * np.log(2)))


def _mutual_information(weight: Floats, mean: Floats, variance: Floats, starts: NDArray[np.intp]) -> float:
    """Bits between group (runs of hypotheses, beginning at `starts`) and a reading that is Gaussian within each hypothesis."""
    reach = 5 * np.sqrt(variance.max())
    grid = np.linspace(mean.min() - reach, mean.max() + reach, GRID)
    density = np.exp(-0.5 * (grid - mean[:, None]) ** 2 / variance[:, None]) / np.sqrt(2 * np.pi * variance[:, None])
    joint = np.add.reduceat(weight[:, None] * density, starts, axis=0)  # of group and reading, (groups, GRID)
    independent = np.add.reduceat(weight, starts)[:, None] * joint.sum(axis=0)
    nats = joint * np.log(joint / independent, out=np.zeros_like(joint), where=joint > 0)
    return max(0.0, float(nats.sum() * (grid[1] - grid[0]) / np.log(2)))
