"""How well the solver recovers known causes: simulated fittings, drawn from the tables themselves.

    python tests/benchmarks/solver.py [number of fittings, 2000]

This tests the inversion, not the tables: whether cloth does what the tables say is tested on draped scenes.
"""

import sys
import time
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from fitcheck.advice.equation import Equation, equation
from fitcheck.advice.solve import Solution, solve
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

FACTS = FittingFacts()
# What four photos of a closed front give: everything but edges, gaps of an open front and the hem.
SEEN = {
    "shoulder_seam_behind": ("tip", "neck"),
    "shoulder_tip_beyond": ("",),
    "shoulder_height_difference": ("",),
    "bust_mark_above": ("",),
    "bust_mark_outside": ("",),
    "side_seam_forward": ("bust", "waist", "hip"),
    "side_seam_tilt": ("",),
    "waist_mark_above": ("front", "side", "back"),
    "centre_front_short": ("bust", "waist", "hip"),
    "back_neck_below": ("",),
    "underarm_gap": ("",),
}


def blank(rng: np.random.Generator) -> list[Measurement]:
    """Measurements of a garment that fits, each with its own sd of 1-3 mm or 0.3-0.8 degrees."""
    found = []
    for id, levels in SEEN.items():
        observable = knowledge().observables[id]
        for at in levels:
            for side in observable.sides(at):
                sd = float(rng.uniform(1, 3) if observable.unit == "mm" else rng.uniform(0.3, 0.8))
                value = observable.wanted.get(FACTS.sleeve, 0.0)
                found.append(Measurement(id, at, side, None, value, observable.unit, sd, {}))
    return found


def read(fit: Equation, truth: np.ndarray, rng: np.random.Generator, missing: float, wild: bool) -> list[Measurement]:
    """What would be measured for true amounts `truth` (one a column)."""
    y = fit.effects @ truth + np.linalg.cholesky(fit.noise) @ rng.standard_normal(len(fit.y))
    if wild:
        k = rng.integers(len(y))
        y[k] += rng.choice([-1, 1]) * rng.uniform(6, 15) * fit.tolerance[k]
    kept = rng.random(len(y)) >= missing
    return [
        Measurement(m.id, m.at, m.side, None, m.value + float(dy), m.unit, m.sd, {})
        for m, dy, keep in zip(fit.measured, y, kept, strict=True)
        if keep
    ]


def causes(fit: Equation, rng: np.random.Generator, most: int) -> np.ndarray:
    """One to `most` causes in variants and amounts as the prior has them."""
    truth = np.zeros(len(fit.columns))
    ids = list(dict.fromkeys(c.alteration.id for c, signal in zip(fit.columns, fit.signal, strict=True) if signal > 1))
    for id in rng.choice(ids, size=rng.integers(1, most + 1), replace=False) if most else []:
        columns = [j for j, c in enumerate(fit.columns) if c.alteration.id == id]
        share = np.exp(fit.log_odds[columns])
        j = rng.choice(columns, p=share / share.sum())
        amount = rng.normal(0, fit.prior_sd[j])
        truth[j] = abs(amount) if fit.positive[j] else amount
    return truth


@dataclass
class Figures:
    """Tallies over many fittings."""

    claims: int = 0
    right: int = 0
    clear: int = 0
    found: int = 0
    errors_mm: list[float] = field(default_factory=list)
    pulls: list[float] = field(default_factory=list)
    probabilities: list[float] = field(default_factory=list)
    needed: list[bool] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    def add(self, fit: Equation, truth: np.ndarray, solution: Solution) -> None:
        """Compare one solution with the truth."""
        true_ids = {c.alteration.id for c, x in zip(fit.columns, truth, strict=True) if x}
        claimed = {a.id for a in solution.needed}
        self.claims += len(claimed)
        self.right += len(claimed & true_ids)
        precision = np.linalg.inv(solution.fit.noise)
        for j, column in enumerate(fit.columns):
            shown = solution.fit.effects[:, j] * truth[j]
            if np.sqrt(shown @ precision @ shown) > 4 and abs(truth[j]) >= column.alteration.amounts.smallest:
                self.clear += 1
                self.found += column.alteration.id in claimed
        for a in solution.needed:
            for j, column in enumerate(fit.columns):
                if truth[j] and (a.id, a.side) == (column.alteration.id, column.side):
                    self.errors_mm.append(abs(a.amount_mm - truth[j]))
                    self.pulls.append((a.amount_mm - truth[j]) / a.sd_mm)
        for id, probability in solution.probabilities.items():
            if id not in solution.unseen:
                self.probabilities.append(probability)
                self.needed.append(id in true_ids)

    def line(self) -> str:
        """One row of figures."""
        pulls = np.abs(self.pulls)
        return (
            f"claims {self.claims:5d}  precision {self.right / max(1, self.claims):.3f}  recall of clear causes "
            f"{self.found / max(1, self.clear):.3f} ({self.clear})  amount error median {np.median(self.errors_mm or [0]):.2f} mm  "
            f"within 2 sd {np.mean(pulls < 2) if len(pulls) else float('nan'):.3f}  median {np.median(self.seconds) * 1e3:.0f} ms"
        )

    def calibration(self) -> list[tuple[float, float, int]]:
        """(mean probability, frequency, number) in five bins."""
        p, hit = np.array(self.probabilities), np.array(self.needed)
        edges = [0, 0.1, 0.3, 0.5, 0.8, 1.0001]
        rows = []
        for low, high in pairwise(edges):
            inside = (p >= low) & (p < high)
            if inside.any():
                rows.append((float(p[inside].mean()), float(hit[inside].mean()), int(inside.sum())))
        return rows


def simulate(fittings: int, seed: int, most: int = 3, missing: float = 0.0, wild: bool = False) -> Figures:
    """Draw fittings, solve them, tally."""
    rng = np.random.default_rng(seed)
    figures = Figures()
    for _ in range(fittings):
        fit = equation(blank(rng), knowledge(), FACTS)
        truth = causes(fit, rng, most)
        measured = read(fit, truth, rng, missing, wild)
        start = time.perf_counter()
        solution = solve(measured, knowledge(), FACTS)
        figures.seconds.append(time.perf_counter() - start)
        figures.add(fit, truth, solution)
    return figures


def main() -> None:
    """Print the figures."""
    fittings = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    cases = {
        "all measured": {},
        "a fifth missing": {"missing": 0.2},
        "one wild": {"wild": True},
        "both": {"missing": 0.2, "wild": True},
        "nothing needed": {"most": 0},
    }
    for name, case in cases.items():
        figures = simulate(fittings, seed=1, **case)
        print(f"{name:16s} {figures.line()}")
        print(" " * 16, "calibration", "  ".join(f"{p:.2f}->{f:.2f} ({n})" for p, f, n in figures.calibration()))


if __name__ == "__main__":
    main()
