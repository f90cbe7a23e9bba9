"""How much of what an alteration should have changed did change, by the readings of the photos before and after it."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Literal, NamedTuple

from fitcheck.core.advice import Expectation
from fitcheck.core.records import Measurement

Z95 = 1.959964  # two-sided 95 % of the normal distribution
ENOUGH = 0.3  # an alteration's share is known well enough to be judged below this standard uncertainty
WORKED, HALF = 0.75, 0.3  # of what it should have changed
Judged = Literal["untold", "wrong way", "more", "done", "part", "hardly"]
Readings = Mapping[str, Measurement]


class Share(NamedTuple):
    """1 = all that was foretold came about; `sd` is its standard uncertainty."""

    share: float
    sd: float

    @property
    def judged(self) -> Judged:
        """What can be said of it."""
        if self.sd > ENOUGH:
            return "untold"
        if self.share + Z95 * self.sd < 0:
            return "wrong way"
        if self.share >= WORKED:
            return "more" if self.share - Z95 * self.sd > 1 else "done"
        return "part" if self.share >= HALF else "hardly"


def share_of(expected: Sequence[Expectation], then: Readings, now: Readings, straying: Callable[[str], float]) -> Share | None:
    """The share of the foretold change that came about, weighted least squares over all it should have changed.

    Parameters
    ----------
    expected : sequence of Expectation
        Of one alteration.
    then, now : dict of key to Measurement
        Of the photos before and after it; their uncertainties are taken as independent.
    straying : callable
        By a measurement's key, how far cloth strays from what an alteration should do (standard deviation).

    Returns
    -------
    Share or None
        None where nothing it should change was measured twice.
    """
    seen = [one for one in expected if one.measurement in then and one.measurement in now and one.after != one.before]
    if not seen:
        return None
    power = along = 0.0
    for one in seen:
        before, after = then[one.measurement], now[one.measurement]
        weight = 1 / (before.sd**2 + after.sd**2 + straying(one.measurement) ** 2)
        power += weight * (one.after - one.before) ** 2
        along += weight * (one.after - one.before) * (after.value - before.value)
    return Share(along / power, 1 / math.sqrt(power))


def outcome_says(name: str, amount_mm: float, found: Share | None) -> str:
    """What came of an alteration, in a sentence; lengths as `{mm:<number>}` fields."""
    if found is None:
        return f"Whether the {name} alteration worked cannot be told: nothing it changes was measured twice."
    done = f"about {{mm:{abs(found.share * amount_mm):.1f}}}"
    said = {
        "untold": "cannot be judged: what it changes was not measured well enough.",
        "wrong way": "seems to have been made the wrong way round.",
        "more": f"changed more than it should, by {done} in all.",
        "done": "did what it should.",
        "part": f"did part of what it should: {done} of it shows.",
        "hardly": "hardly shows in the new photos. Check whether it was made in full, and in the right place.",
    }
    return f"The {name} alteration ({{mm:{abs(amount_mm):.1f}}}) {said[found.judged]}"
