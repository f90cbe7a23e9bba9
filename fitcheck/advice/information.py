"""What to measure next: how much each observable that was not measured would tell about which alterations are needed.

The expected information is the mutual information between the set of needed alterations and the reading (Lindley 1956): the entropy of
the predicted reading, a mixture over the weighed sets, less its mean entropy within each set; both by quadrature.
"""

from dataclasses import dataclass

import numpy as np

from fitcheck.advice.equation import Equation
from fitcheck.advice.table import Knowledge
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
    weight = found.weight[:MOST_HYPOTHESES] / found.weight[:MOST_HYPOTHESES].sum()
    ids = [frozenset(fit.columns[j].alteration.id for j in members) for members in found.sets[:MOST_HYPOTHESES]]
    distinct = list(dict.fromkeys(ids))
    belongs = np.array([[one == other for one in ids] for other in distinct])
    keys = set(fit.keys)
    helps = []
    for observable in table.observables.values():
        for at in observable.levels:
            for side in observable.sides(at):
                key = measurement_key(observable.id, at, side)
                if key in keys or not observable.applies(at, fitting) or _measured_whole(fit, observable.id, at):
                    continue
                effect = np.array([column.effect(observable, at, side) for column in fit.columns])
                if not effect.any():
                    continue
                noise = observable.straying(at) ** 2 + (observable.tolerance.amount / 2) ** 2
                mean = found.mean[:MOST_HYPOTHESES] @ effect
                variance = found.variance[:MOST_HYPOTHESES] @ effect**2 + noise
                bits = _mutual_information(weight, mean, variance, belongs)
                if bits > WORTH_BITS:
                    helps.append(Help(observable.id, at, side, bits))
    return tuple(sorted(helps, key=lambda h: -h.bits))


def _measured_whole(fit: Equation, id: str, at: str) -> bool:
    return any((m.id, m.at, m.side) == (id, at, None) for m in fit.measured)


def _mutual_information(weight: Floats, mean: Floats, variance: Floats, belongs: np.ndarray[tuple[int, int], np.dtype[np.bool_]]) -> float:
    """Bits between group (rows of `belongs`) and a reading that is Gaussian within each hypothesis."""
    reach = 5 * np.sqrt(variance.max())
    grid = np.linspace(mean.min() - reach, mean.max() + reach, GRID)
    density = np.exp(-0.5 * (grid - mean[:, None]) ** 2 / variance[:, None]) / np.sqrt(2 * np.pi * variance[:, None])
    groups = (belongs * weight) @ density  # joint density of group and reading, (g, GRID)
    mass = (belongs * weight).sum(axis=1)
    total = groups.sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.log2(groups / (mass[:, None] * total))
    terms = np.where(groups > 0, groups * ratio, 0.0)
    return max(0.0, float(terms.sum() * (grid[1] - grid[0])))
