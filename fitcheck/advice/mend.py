"""What to try where causes are uncertain: the alterations by which paper would most surely better the fit, whatever is behind it.

The equation asks what is wrong; this asks what would help. The loss is the sum of squares of all readings in tolerances, each place
counting once. Alterations are added one by one, each with the amount that lessens the expected loss most, as long as it is surely less.
"""

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.advice.equation import FULLY, Equation, Mask, done_at, spread_at
from fitcheck.advice.noise import LEAST_SD
from fitcheck.advice.rows import Alteration, Knowledge
from fitcheck.core.advice import Amount
from fitcheck.core.records import Floats

MOST = 6
LEAST_GAIN = 0.7  # squared tolerances: less than one reading brought back from its tolerance (chosen with tests.benchmarks.loop)
# The loss falls with a probability of 95 % at least, as a garment that fits is left alone; of 84 % where it surely does not fit. At 84 %
# throughout twice as many alterations are tried without need (101 drawn fittings); at 70 % 6 to 8 % of rounds worsen the fit (drapes).
SURE, SURE_OF_MISFIT = 1.64, 1.0
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
        told = w / np.diag(readings.doubt)
        power = d.T @ (told[:, None] * d) + np.diag(told @ e**2 + held)
        amounts = np.linalg.solve(power, d.T @ (told * readings.off) + held * lacking)
        smallest = np.array([table.alterations[a.id].amounts.smallest for a in kept])
        amounts = np.sign(lacking) * np.maximum(amounts * np.sign(lacking), smallest)
        left = readings.off - d @ amounts
        gains = w @ (2 * left[:, None] * d * amounts + (d * amounts) ** 2 - (e * amounts) ** 2)
        worst = int(gains.argmin())
        if gains[worst] > -HARM:
            return tuple(replace(a, amount_mm=float(x)) for a, x in zip(kept, amounts, strict=True))
        del kept[worst]
    return ()


def to_try(
    fit: Equation, made: Sequence[Amount], wild: Floats, probabilities: dict[str, float], aside: Set[str], table: Knowledge
) -> tuple[Amount, ...]:
    """Alterations worth pinning beside those that are certain, the most helpful first; on both sides alike.

    Parameters
    ----------
    made : sequence of Amount
        What is certain and made anyhow.
    wild : ndarray, shape (n,)
        Probability that a reading is plainly wrong.
    probabilities : dict of str to float
        That each alteration is needed, by the equation.
    aside : set of str
        Alterations that are not tried: what is needed is made, or known to harm.
    """
    readings = _Readings.of(fit, wild, table)
    if not readings.weight.any():
        return ()
    off = readings.off - fit.taken_away(made) / fit.tolerance
    sure = SURE_OF_MISFIT if made or readings.surely_out() else SURE
    believed = np.array([BELIEVED * np.log(max(LEAST_LIKELY, probabilities.get(c.alteration.id, 0.0))) for c in fit.columns])
    taken = {a.id for a in made} | aside
    chosen: list[int] = []
    amounts: Floats = np.zeros(0)
    while len(chosen) < MOST:
        found: tuple[float, int, Floats] | None = None
        for j, column in enumerate(fit.columns):
            if column.side != "both" or column.alteration.id in taken:
                continue
            tried = readings.tried(off, [*chosen, j], amounts, sure)
            if tried and (found is None or tried[1] + believed[j] > found[0]):
                found = tried[1] + float(believed[j]), j, tried[0]
        if found is None:
            break
        chosen, amounts = [*chosen, found[1]], found[2]
        taken.add(fit.columns[found[1]].alteration.id)
    return tuple(readings.amount(j, float(mm), probabilities) for j, mm in zip(chosen, amounts, strict=True))


@dataclass(frozen=True, slots=True)
class _Readings:
    """All in tolerances: deviations `off` (n,) and the covariance of their errors `doubt` (n, n), what paper `does` a millimetre, how far
    that may be `wrong` and half of what the trade's number `differs` by, where it `mainly` shows, measured or not (n, m); the `weight` of
    each reading (n,), and which are `alike`, of one place on her two sides (n, n)."""

    off: Floats
    doubt: Floats
    does: Floats
    wrong: Floats
    differs: Floats
    mainly: Mask
    weight: Floats
    alike: Mask
    alterations: tuple[Alteration, ...]

    @classmethod
    def of(cls, fit: Equation, wild: Floats, table: Knowledge) -> "_Readings":
        """Of one fitting; a reading that is plainly wrong counts nothing."""
        doubts = [table.observables[m.id].tolerance.doubt for m in fit.measured]
        places = [(m.id, m.at) for m in fit.measured]
        here = [(table.observables[m.id], m.at, m.side) for m in fit.measured]
        wrong, differs = np.hypot(WRONG * fit.does, spread_at(here, fit.columns)), DIFFERS * (fit.does - fit.effects)
        everywhere = [(observable, at, side) for observable, at in table.places.values() for side in observable.sides(at)]
        most = np.abs(done_at(everywhere, fit.columns)) / np.array([[observable.tolerance.amount] for observable, _, _ in everywhere])
        t, rows = fit.tolerance, tuple(c.alteration for c in fit.columns)
        mainly = np.abs(fit.does) / t[:, None] >= FULLY * np.maximum(most.max(axis=0), 1e-9)
        doubt = (fit.measuring + np.diag(np.square(doubts))) / np.outer(t, t)
        alike = np.array([[a == b for b in places] for a in places], dtype=bool).reshape(len(places), len(places))
        weight = (1 - wild) / np.maximum(alike.sum(axis=1), 1)
        return cls(fit.y / t, doubt, fit.does / t[:, None], wrong / t[:, None], differs / t[:, None], mainly, weight, alike, rows)

    def surely_out(self) -> bool:
        """Whether any reading is out of its tolerance with a probability of 95 %."""
        return bool(((np.abs(self.off) - 1 > SURE * np.sqrt(np.diag(self.doubt))) & (self.weight > 0)).any())

    def tried(self, off: Floats, columns: Sequence[int], before: Floats, sure: float) -> tuple[Floats, float] | None:
        """Amounts of all these columns by which the fit betters most, and by how much the loss falls for the last of them.

        None where the last is too small, not surely better, or answers nothing that is out of tolerance, both sides taken together: what
        betters one side and worsens the other is no answer.

        Parameters
        ----------
        before : ndarray, shape (k - 1,)
            Amounts of the others without it.
        sure : float
            Of its doubt, by which the loss must fall.
        """
        j = list(columns)
        rows = [self.alterations[c] for c in j]
        wrong = np.hypot(self.wrong[:, j], self.differs[:, j])
        does, weight = self.does[:, j], self.weight
        noise = float(weight @ np.diag(self.doubt) / weight.sum())
        power = does.T @ (weight[:, None] * does) + np.diag(weight @ wrong**2 + noise / np.array([row.amounts.spread for row in rows]) ** 2)
        x = np.linalg.solve(power, does.T @ (weight * off))
        least = np.array([row.amounts.smallest for row in rows])
        most = np.array([row.amounts.most(float(mm)) for row, mm in zip(rows, x, strict=True)])
        x = np.copysign(np.clip(np.abs(x), least, most), x)
        if (x[:-1] * before < 0).any() or any(mm < 0 and not row.minus for mm, row in zip(x, rows, strict=True)):
            return None
        without = np.r_[before, 0.0]
        losses = [float(weight @ (off - does @ mm) ** 2 + weight @ wrong**2 @ mm**2) for mm in (without, x)]
        gain, left, change = losses[0] - losses[1], off - does @ without, does @ (x - without)
        moves = weight * change
        doubt = 2 * float(np.sqrt(moves @ self.doubt @ moves + np.sum((weight * left * wrong[:, -1] * x[-1]) ** 2)))
        told = self.mainly[:, j[-1]] & self._answered(left, does[:, -1] * x[-1])
        return (x, gain) if gain >= max(LEAST_GAIN, sure * doubt) and told.any() else None

    def _answered(self, left: Floats, own: Floats) -> Mask:
        """Shape (n,): readings out of tolerance, her two sides taken together, of which a change `own` betters either side."""
        together = self.alike * self.weight
        together /= np.maximum(together.sum(axis=1, keepdims=True), LEAST_SD)
        out = np.abs(together @ left) > 1
        worsened = left * own <= own**2 / 2
        return np.asarray(out & ~(self.alike & worsened[None, :]).any(axis=1))

    def amount(self, column: int, mm: float, probabilities: dict[str, float]) -> Amount:
        """What is tried of one column, with its doubt."""
        does, row = self.does[:, column], self.alterations[column]
        power = float(self.weight @ does**2)
        moves = self.weight * does
        sd = float(np.sqrt(moves @ self.doubt @ moves) / power)
        return Amount(row.id, "both", mm, sd, probabilities.get(row.id, 0.0), row.direction(mm).name)
