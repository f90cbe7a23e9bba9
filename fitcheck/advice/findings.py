"""What fits and what does not, measurement by measurement, as plain sentences with an honest verdict."""

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from fitcheck.advice.rows import FindingRow, Knowledge, Observable
from fitcheck.core.advice import Finding
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.normal import share_below
from fitcheck.core.records import Measurement, Side, Verdict, measurement_key
from fitcheck.core.side_words import on_side

# A fault is claimed only when it is nearly certain, for a wrong alteration costs cloth; that something fits may be said a little earlier,
# for the next fitting looks again.
SURE_FAULT, SURE_FIT = 0.95, 0.80
ALIKE_SD = 2.0  # left and right are told together unless they differ by more than this many sd, and by more than the tolerance

_ORDER: dict[Verdict, int] = {"present": 0, "unclear": 1, "absent": 2}


def find(measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts | None = None) -> tuple[Finding, ...]:
    """One finding a measurement, left and right together where they agree; faults first, in the order of findings.toml.

    Parameters
    ----------
    measurements : sequence of Measurement
        Those the tables do not know are passed over.
    fitting : FittingFacts, optional
        A style neckline cannot be compared with the neck.

    Returns
    -------
    tuple of Finding
        `says` carries its lengths as `{mm:...}` and its angles as `{deg:...}` fields.
    """
    facts = fitting or FittingFacts()
    by_place: dict[str, list[Measurement]] = {}
    for m in measurements:
        if np.isfinite([m.value, m.sd]).all():
            by_place.setdefault(measurement_key(m.id, m.at, None), []).append(m)
    found: list[Finding] = []
    for place, row in table.findings.items():
        observable, at = table.places[place]
        if not observable.applies(at, facts):
            continue
        for group in _together(by_place.get(place, []), observable, facts):
            found.append(_finding(group, observable, row, facts))
    return tuple(sorted(found, key=lambda f: _ORDER[f.verdict]))


def verdict(deviation: float, sd: float, tolerance: float) -> Verdict:
    """Present, absent or unclear, from the probability that the true deviation lies outside the tolerance.

    Examples
    --------
    >>> verdict(10, 1.5, 3), verdict(0.5, 1.5, 3), verdict(4, 1.5, 3)
    ('present', 'absent', 'unclear')
    """
    inside = _inside(deviation, sd, tolerance)
    if 1 - inside >= SURE_FAULT:
        return "present"
    return "absent" if inside >= SURE_FIT else "unclear"


def _inside(deviation: float, sd: float, tolerance: float) -> float:
    """Probability that the true deviation lies within the tolerance."""
    sd = max(sd, 1e-9)
    return float(share_below((tolerance - deviation) / sd) - share_below((-tolerance - deviation) / sd))


def _together(here: Sequence[Measurement], observable: Observable, facts: FittingFacts) -> list[list[Measurement]]:
    sided = [m for m in here if m.side]
    rest = [[m] for m in here if not m.side and not sided]  # the sides say more than both together
    if len(sided) != 2:
        return [[m] for m in sided] + rest
    left, right = (observable.deviation(m, facts) for m in sided)
    tolerance = observable.tolerance.amount
    verdicts = {verdict(d, _sd(m, observable), tolerance) for d, m in zip((left, right), sided, strict=True)}
    alike = abs(left - right) <= max(tolerance, ALIKE_SD * math.hypot(*(_sd(m, observable) for m in sided)))
    same_way = left * right > 0 or verdicts == {"absent"}
    return ([sided] if len(verdicts) == 1 and alike and same_way else [[m] for m in sided]) + rest


def _sd(measured: Measurement, observable: Observable) -> float:
    return math.hypot(measured.sd, observable.tolerance.doubt)


def _finding(group: Sequence[Measurement], observable: Observable, row: FindingRow, facts: FittingFacts) -> Finding:
    deviation = float(np.mean([observable.deviation(m, facts) for m in group]))
    sds = [_sd(m, observable) for m in group]
    sd = float(np.mean(sds))  # the sides share most of their doubts, so the mean of two is hardly surer than one
    tolerance = observable.tolerance.amount
    side: Side | Literal["both"] | None = "both" if len(group) > 1 else group[0].side
    result = verdict(deviation, sd, tolerance)
    says = row.fits if result == "absent" else row.plus if deviation > 0 else row.minus
    fact = says = says.replace("{amount}", f"{{{observable.unit}:{_number(abs(deviation))}}}").replace(
        " {side}", f" {on_side(side)}".rstrip()
    )
    if result == "unclear":
        says = f"{says} This is too close to call: it is known to {{{observable.unit}_sd:{sd:.2f}}} either way."
    flags = tuple(dict.fromkeys(flag for m in group for flag in m.flags))
    hopeless = result == "unclear" and verdict(0.0, sd, tolerance) == "unclear" and 1 - _inside(deviation, sd, tolerance) < SURE_FIT
    return Finding(row.id, side, says, result, tuple(m.key for m in group), flags, fact, not hopeless, tuple(sds))


def _number(value: float) -> str:
    """To a hundredth, so that what rounds it once more in the report rounds it as it does the measurement itself."""
    return f"{value:.2f}".removesuffix("0")
