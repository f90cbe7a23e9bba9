"""Which alterations may be made in one round: each group moves what lies below it, so what is moved has to be looked at again first."""

from collections.abc import Sequence

import numpy as np

from fitcheck.advice.equation import FULLY, Equation
from fitcheck.core.advice import Amount

MOST_STEPS = 3
STAYS = 0.5  # of a tolerance: what is moved by less can be gone by in the same round (estimate)


def made_together(fit: Equation, advised: Sequence[Amount]) -> list[Amount]:
    """The first group, and of later groups what goes by readings that none before it moves; three at most, in the order of groups."""
    group = {(c.alteration.id, c.side): c.alteration.group for c in fit.columns}
    now: list[Amount] = []
    for one in sorted(advised, key=lambda a: group[a.id, a.side]):
        earlier = [a for a in now if group[a.id, a.side] < group[one.id, one.side]]
        if len(now) < MOST_STEPS and not _moved(fit, earlier, one):
            now.append(one)
    return now


def _moved(fit: Equation, earlier: Sequence[Amount], one: Amount) -> bool:
    """Whether any reading by which an alteration is told is moved by those before it, by what the trade says or by what drapes show."""
    shown = np.abs(fit.shown([one])) / fit.tolerance
    told = shown >= FULLY * shown.max(initial=0.0)
    moves = sum((np.maximum(np.abs(fit.shown([a])), np.abs(fit.taken_away([a]))) / fit.tolerance for a in earlier), np.zeros(len(fit.y)))
    return bool((moves[told] > STAYS).any())
