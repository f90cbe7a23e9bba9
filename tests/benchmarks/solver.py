"""How well the solver recovers known causes: simulated fittings, drawn from the tables themselves.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.solver [number of fittings, 2000] [seed, 1] [names of cases, all]

One to three causes a fitting, drawn by how often the tables say they are needed (or all alike), with amounts up to
the largest sensible one, mostly within what is usual; noise of every measurement as large as its tolerance; with and without a fifth
of the measurements missing, one wild value of four standard deviations, a table that is itself wrong by 20 %, and causes so large that a
gap of 10 to 40 mm shows. A claim is what `solve`
calls needed: its probability exceeds 0.5 and it is clear enough for a cut; it is right when alteration and sign are. Beside it stands the
precision of everything above 0.5, clear or not. Probabilities are compared with frequencies case by case and for the four cases
together, for the solver is not told whether a value is wild or nothing is. This tests the inversion, not the tables: whether cloth does
what the tables say is tested on draped scenes.
"""

import sys
import time
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from fitcheck.advice.equation import Equation, equation
from fitcheck.advice.solve import NEEDED, Solution, solve
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

FACTS = FittingFacts()
UNSEEN_LEFTS = ("centre_front_left", "centre_back_left")  # an open fitting shows gaps, not where a closed centre lies
LEAST_SD = 0.5  # of measuring, in tolerances
FOUR = ("all measured", "a fifth missing", "one wild", "missing and wild")  # the cases of which the probabilities are one mixture
GAPS_MM = (10.0, 40.0)
USUAL_TOLERANCE_MM = 5.0
USUALLY = 0.85  # share of amounts within what the tables call usual; the rest lie between that and the largest sensible


def blank() -> list[Measurement]:
    """Measurements of an open fitting that fits; measuring and straying cloth together have an sd of one tolerance."""
    found = []
    for observable in knowledge().observables.values():
        for at in observable.levels:
            if observable.by_hand or observable.id in UNSEEN_LEFTS or not observable.applies(at, FACTS):
                continue
            tolerance = observable.tolerance.amount
            sd = max(LEAST_SD * tolerance, np.sqrt(max(0.0, tolerance**2 - observable.straying(at) ** 2)))
            value = observable.wanted.get(FACTS.sleeve, 0.0)
            found += [Measurement(observable.id, at, side, None, value, observable.unit, float(sd), {}) for side in observable.sides(at)]
    return found


def read(fit: Equation, truth: np.ndarray, rng: np.random.Generator, missing: float, wild: bool, wrong: float) -> list[Measurement]:
    """What would be measured for true amounts `truth` (one a column), each effect being wrong by a random share of sd `wrong`."""
    effects = fit.effects * (1 + wrong * rng.standard_normal(fit.effects.shape))
    y = effects @ truth + np.linalg.cholesky(fit.noise) @ rng.standard_normal(len(fit.y))
    if wild:
        k = rng.integers(len(y))
        y[k] += rng.choice([-1, 1]) * 4 * np.sqrt(fit.noise[k, k])
    kept = rng.random(len(y)) >= missing
    return [
        Measurement(m.id, m.at, m.side, None, m.value + float(dy), m.unit, m.sd, {})
        for m, dy, keep in zip(fit.measured, y, kept, strict=True)
        if keep
    ]


def causes(fit: Equation, rng: np.random.Generator, most: int, alike: bool, large: bool) -> np.ndarray:
    """One to `most` causes in variants and amounts as the tables have them; `large`: the first shows as a gap of up to 40 mm."""
    truth = np.zeros(len(fit.columns))
    rows = {c.alteration.id: c.alteration for c, signal in zip(fit.columns, fit.signal, strict=True) if signal > 1}
    odds = np.array([1.0 if alike else a.amounts.probability for a in rows.values()])
    for id in rng.choice(list(rows), size=rng.integers(1, most + 1), replace=False, p=odds / odds.sum()) if most else []:
        columns = [j for j, c in enumerate(fit.columns) if c.alteration.id == id]
        share = np.exp(fit.log_odds[columns])
        j = rng.choice(columns, p=share / share.sum())
        amounts = rows[id].amounts
        usual = rng.random() < USUALLY
        sign = 1.0 if fit.positive[j] else float(rng.choice([-1, 1]))
        amount = rng.uniform(*amounts.usual) if usual else rng.uniform(amounts.usual[1], amounts.most(sign))
        if large and not truth.any():
            amount = _gaping(fit, j, rng)
        truth[j] = sign * amount
    return truth


def _gaping(fit: Equation, j: int, rng: np.random.Generator) -> float:
    """An amount whose clearest reading is 10 to 40 mm off (degrees: as many tolerances), whatever the tables call sensible."""
    clear = np.abs(fit.effects[:, j]) / fit.tolerance
    k = int(clear.argmax())
    gap = rng.uniform(*GAPS_MM) * (1.0 if fit.measured[k].unit == "mm" else fit.tolerance[k] / USUAL_TOLERANCE_MM)
    return float(gap / np.abs(fit.effects[k, j]))


@dataclass
class Figures:
    """Tallies over many fittings."""

    claims: int = 0
    right: int = 0
    above: int = 0  # everything more probable than 0.5
    above_right: int = 0
    clear: int = 0
    found: int = 0
    errors_mm: list[float] = field(default_factory=list)
    pulls: list[float] = field(default_factory=list)
    probabilities: list[float] = field(default_factory=list)
    needed: list[bool] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    def add(self, fit: Equation, truth: np.ndarray, solution: Solution) -> None:
        """Compare one solution with the truth."""
        true = {(c.alteration.id, np.sign(x)) for c, x in zip(fit.columns, truth, strict=True) if x}
        claimed = {(a.id, np.sign(a.amount_mm)) for a in solution.needed}
        self.claims += len(claimed)
        self.right += len(claimed & true)
        above = {(a.id, np.sign(a.amount_mm)) for a in solution.considered if a.probability > NEEDED}
        self.above += len(above)
        self.above_right += len(above & true)
        precision = np.linalg.inv(solution.fit.noise)
        solved = {(c.alteration.id, c.side): k for k, c in enumerate(solution.fit.columns)}  # what nothing measured tells has no column
        for j, column in enumerate(fit.columns):
            place = solved.get((column.alteration.id, column.side))
            if place is None:
                continue
            shown = solution.fit.effects[:, place] * truth[j]
            if np.sqrt(shown @ precision @ shown) > 4:
                self.clear += 1
                self.found += (column.alteration.id, np.sign(truth[j])) in claimed
        for a in solution.needed:
            for j, column in enumerate(fit.columns):
                if truth[j] and (a.id, a.side) == (column.alteration.id, column.side):
                    self.errors_mm.append(abs(a.amount_mm - truth[j]))
                    self.pulls.append((a.amount_mm - truth[j]) / a.sd_mm)
        for id, probability in solution.probabilities.items():
            if id not in solution.unseen:
                self.probabilities.append(probability)
                self.needed.append(id in {one for one, _ in true})

    def line(self) -> str:
        """One row of figures."""
        pulls = np.abs(self.pulls)
        return (
            f"claims {self.claims:5d}  precision {self.right / max(1, self.claims):.3f} (all above 0.5: {self.above}, "
            f"{self.above_right / max(1, self.above):.3f})  recall of clear causes "
            f"{self.found / max(1, self.clear):.3f} ({self.clear})  amount error median {np.median(self.errors_mm or [0]):.2f} mm  "
            f"within 2 sd {np.mean(pulls < 2) if len(pulls) else float('nan'):.3f}  median {np.median(self.seconds) * 1e3:.0f} ms, "
            f"95 % {np.quantile(self.seconds, 0.95) * 1e3:.0f} ms"
        )

    def calibration(self) -> list[tuple[float, float, int]]:
        """(mean probability, frequency, number) in five bins."""
        p, hit = np.array(self.probabilities), np.array(self.needed)
        edges = [0, 0.2, 0.4, 0.6, 0.8, 1.0001]
        rows = []
        for low, high in pairwise(edges):
            inside = (p >= low) & (p < high)
            if inside.any():
                rows.append((float(p[inside].mean()), float(hit[inside].mean()), int(inside.sum())))
        return rows

    def reliability(self) -> str:
        """The bins as one row, with the largest difference where a bin holds fifty or more."""
        rows = self.calibration()
        worst = max((abs(p - f) for p, f, n in rows if n >= 50), default=0.0)
        return f"{'  '.join(f'{p:.2f}->{f:.2f} ({n})' for p, f, n in rows)}  worst {worst:.3f}"


def simulate(
    fittings: int,
    seed: int,
    most: int = 3,
    missing: float = 0.0,
    wild: bool = False,
    wrong: float = 0.0,
    alike: bool = False,
    large: bool = False,
) -> Figures:
    """Draw fittings, solve them, tally."""
    rng = np.random.default_rng(seed)
    figures = Figures()
    fit = equation(blank(), knowledge(), FACTS)
    for _ in range(fittings):
        truth = causes(fit, rng, most, alike, large)
        measured = read(fit, truth, rng, missing, wild, wrong)
        start = time.process_time()
        solution = solve(measured, knowledge(), FACTS)
        figures.seconds.append(time.process_time() - start)
        figures.add(fit, truth, solution)
    return figures


def main() -> None:
    """Print the figures."""
    fittings = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    cases = {
        "all measured": {},
        "a fifth missing": {"missing": 0.2},
        "one wild": {"wild": True},
        "missing and wild": {"missing": 0.2, "wild": True},
        "table wrong": {"wrong": 0.2},
        "causes alike": {"alike": True},
        "gaps to 40": {"large": True},
        "gaps, one wild": {"large": True, "wild": True},
        "gaps, wild, wrong": {"large": True, "wild": True, "missing": 0.2, "wrong": 0.2},
        "nothing needed": {"most": 0},
        "nothing, one wild": {"most": 0, "wild": True},
    }
    together = Figures()
    for name in sys.argv[3:] or cases:
        case = cases[name]
        figures = simulate(fittings, seed, **case)
        print(f"{name:17s} {figures.line()}", flush=True)
        print(" " * 17, "calibration", figures.reliability(), flush=True)
        if name in FOUR:
            together.probabilities += figures.probabilities
            together.needed += figures.needed
    if together.needed:
        print(f"{'of the four':17s} calibration {together.reliability()}", flush=True)


if __name__ == "__main__":
    main()
