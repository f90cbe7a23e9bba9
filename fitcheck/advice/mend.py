"""What to try where causes are uncertain: the alterations by which paper would most surely better the fit, whatever is behind it.

The equation asks what is wrong; this asks what would help. The loss is the sum of squares of all readings in tolerances, each place
counting once. Alterations are added one by one, each with the amount that lessens the expected loss most, as long as it is surely less.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.advice.equation import FULLY, Equation, Mask, done_at, spread_at
from fitcheck.advice.rows import Alteration, Knowledge
from fitcheck.core.advice import Amount
from fitcheck.core.records import Floats

MOST = 3
LEAST_GAIN = 1.5  # squared tolerances: one reading brought back from a little beyond its tolerance (chosen with tests.benchmarks.loop)
SURE = 1.64  # the loss falls at least with a probability of 95 %
WRONG = 0.1  # by how much of itself an effect of paper differs between figures (drapes on five: 0.05 to 0.5) ...
DIFFERS = 0.5  # ... and of what trade and drape differ by
BELIEVED = 1.0  # squared tolerances for each nat that the equation holds it likelier
LEAST_LIKELY = 0.02
HARM = 1.0  # squared tolerances: a fit that is worse by more than one reading just out of place is harmed
TRUST = 0.3  # of an amount: how far what a figure lacks and what paper has to give may differ (estimate)


def as_paper_cures(fit: Equation, needed: Sequence[Amount], wild: Floats, table: Knowledge) -> tuple[Amount, ...]:
    """What is needed, in the amounts by which paper betters the fit most; what would harm the fit is left out.

    The amount that is lacking by the equation is held to within its own doubt and TRUST of itself. Where trade and drape differ, nothing is
    refused for what only the drape does not cure.
    """
    if not needed:
        return ()
    readings = _Readings.of(fit, wild, table)
    column = {(c.alteration.id, c.side): j for j, c in enumerate(fit.columns)}
    kept = list(needed)
    while kept:
        j = [column[a.id, a.side] for a in kept]
        lacking = np.array([a.amount_mm for a in kept])
        held = np.array([np.hypot(a.sd_mm, TRUST * a.amount_mm) for a in kept]) ** -2
        d, e, w = readings.does[:, j], readings.wrong[:, j], readings.weight
        power = d.T @ (w[:, None] * d) + np.diag(w @ e**2 + held)
        amounts = np.linalg.solve(power, d.T @ (w * readings.off) + held * lacking)
        smallest = np.array([table.alterations[a.id].amounts.smallest for a in kept])
        amounts = np.sign(lacking) * np.maximum(amounts * np.sign(lacking), smallest)
        left = readings.off - d @ amounts
        gains = w @ (2 * left[:, None] * d * amounts + (d * amounts) ** 2 - (e * amounts) ** 2)
        worst = int(gains.argmin())
        if gains[worst] > -HARM:
            return tuple(replace(a, amount_mm=float(x)) for a, x in zip(kept, amounts, strict=True))
        del kept[worst]
    return ()


def to_try(fit: Equation, needed: Sequence[Amount], wild: Floats, probabilities: dict[str, float], table: Knowledge) -> tuple[Amount, ...]:
    """Alterations worth pinning beside those that are certain, the most helpful first; on both sides alike.

    Parameters
    ----------
    needed : sequence of Amount
        What is certain and made anyhow.
    wild : ndarray, shape (n,)
        Probability that a reading is plainly wrong.
    probabilities : dict of str to float
        That each alteration is needed, by the equation.
    """
    readings = _Readings.of(fit, wild, table)
    if not readings.weight.any():
        return ()
    left = readings.off - fit.taken_away(needed) / fit.tolerance
    taken = {a.id for a in needed}
    found: list[Amount] = []
    while len(found) < MOST:
        best: tuple[float, Amount, int] | None = None
        for j, column in enumerate(fit.columns):
            id = column.alteration.id
            if column.side == "both" and id not in taken and (tried := readings.tried(left, j, column.alteration)):
                amount, gain = tried
                score = gain + BELIEVED * np.log(max(LEAST_LIKELY, probabilities.get(id, 0.0)))
                if best is None or score > best[0]:
                    best = score, replace(amount, probability=probabilities.get(id, 0.0)), j
        if best is None:
            break
        found.append(best[1])
        taken.add(best[1].id)
        left = left - readings.does[:, best[2]] * best[1].amount_mm
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Readings:
    """All in tolerances: deviations `off` (n,) and the covariance of their errors `doubt` (n, n), what paper `does` a millimetre, how far
    that may be `wrong` and half of what the trade's number `differs` by, where it `mainly` shows, measured or not (n, m); the `weight` of
    each reading (n,)."""

    off: Floats
    doubt: Floats
    does: Floats
    wrong: Floats
    differs: Floats
    mainly: Mask
    weight: Floats

    @classmethod
    def of(cls, fit: Equation, wild: Floats, table: Knowledge) -> "_Readings":
        """Of one fitting; a reading that is plainly wrong counts nothing."""
        doubts = [table.observables[m.id].tolerance.doubt for m in fit.measured]
        places = [(m.id, m.at) for m in fit.measured]
        here = [(table.observables[m.id], m.at, m.side) for m in fit.measured]
        wrong, differs = np.hypot(WRONG * fit.does, spread_at(here, fit.columns)), DIFFERS * (fit.does - fit.effects)
        everywhere = [(observable, at, side) for observable, at in table.places.values() for side in observable.sides(at)]
        most = np.abs(done_at(everywhere, fit.columns)) / np.array([[observable.tolerance.amount] for observable, _, _ in everywhere])
        t = fit.tolerance
        mainly = np.abs(fit.does) / t[:, None] >= FULLY * np.maximum(most.max(axis=0), 1e-9)
        doubt = (fit.measuring + np.diag(np.square(doubts))) / np.outer(t, t)
        weight = (1 - wild) / [places.count(place) for place in places]
        return cls(fit.y / t, doubt, fit.does / t[:, None], wrong / t[:, None], differs / t[:, None], mainly, weight)

    def tried(self, left: Floats, column: int, alteration: Alteration) -> tuple[Amount, float] | None:
        """The amount that betters most and by how much the loss falls; None where it is too small or not surely better."""
        does, weight, amounts = self.does[:, column], self.weight, alteration.amounts
        wrong = np.hypot(self.wrong[:, column], self.differs[:, column])
        noise = float(weight @ np.diag(self.doubt) / weight.sum())
        power = float(weight @ (does**2 + wrong**2)) + noise * amounts.spread**-2
        amount = float(weight @ (left * does)) / power
        amount = float(np.copysign(np.clip(abs(amount), amounts.smallest, amounts.most(amount)), amount))
        change = does * amount
        gain = float(weight @ (2 * left * change - change**2 - (wrong * amount) ** 2))
        moves = weight * change
        doubt = 2 * float(np.sqrt(moves @ self.doubt @ moves + np.sum((weight * left * wrong * amount) ** 2)))
        told = self.mainly[:, column] & (np.abs(left) > 1) & (left * change > 0)
        if gain < max(LEAST_GAIN, SURE * doubt) or not told.any() or (amount < 0 and not alteration.minus):
            return None
        sd = float(np.sqrt(weight * does @ self.doubt @ (weight * does)) / power)
        return Amount(alteration.id, "both", amount, sd, 0.0, alteration.direction(amount).name), gain
