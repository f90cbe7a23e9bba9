"""The fit equation made ready for weighing: which columns stand side by side, with what prior, and what they share with the readings.

Most amounts are of a usual size and a few far larger: where a reading asks for it, a column is weighed a second time with a wide prior, the
two excluding each other, so that the prior has two scales and all stays exact. Likewise, where much is asked for, it may all show in the
clearest readings and nothing elsewhere (`Equation.alone`). So a large reading is believed, and wild is what contradicts others. And a fault
may lie in the paper, not in her figure: then it shows as paper does (`Equation.does`), which is weighed where it explains more.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.advice.equation import PROBABILITY_WILD, Equation
from fitcheck.core.normal import share_below
from fitcheck.core.records import Floats

LARGEST_SET = 4
LARGE, LARGE_SHARE = 3.0, 0.3  # spread of the amounts far larger than usual, in usual ones, and their share of all (estimate)
FAR = 2.0  # such are weighed where a reading asks for more than so many spreads: elsewhere they have next to no weight
ALONE_SHARE = 0.1  # of alterations show in their clearest readings alone (estimate) ...
MUCH = 1.25  # ... weighed where more than so many spreads are asked for, on both sides
PAPER_SHARE = 0.1  # of faults show as paper does (estimate) ...
EXPLAINS_MORE = 2.0  # ... weighed where, on both sides and by itself, one explains the readings by so many nats better so
BY_TABLE, ALONE, BY_PAPER = range(3)
# How far out a plainly wrong reading is, in tolerances (chosen with tests/benchmarks/solver.py): its spread, and the least, for what is off
# by less is no blunder. A few are further out: a reading beyond so many spreads is weighed with a wide one.
WILD, WILD_FROM = 3.0, 2.5
WILD_FAR, WILD_LARGE, WILD_LARGE_SHARE = 2.0, 3.0, 0.3
DIFFERENCE = 0.7  # spread of the difference between two sides, in spreads of the alteration (estimate)
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Problem:
    """The equation made ready: its columns, some once more (large, alone or both), then a difference (right minus left) for each pair of
    sides."""

    gram: Floats  # A' C^-1 A
    b: Floats  # A' C^-1 y
    response: Floats  # C^-1 A, (n, m)
    pull: Floats  # C^-1 y
    precision: Floats  # diagonal of C^-1
    widening: Floats  # variance a wild error adds
    wild_from: Floats  # the least it is off
    wild_log_odds: Floats  # of a reading being wild, P(off by that much) taken out
    prior_sd: Floats
    log_odds: Floats
    pairs: Floats
    most_pair: float  # the most that other columns together can add to a column's log odds
    smallest: Floats  # of the amounts, 0 for differences
    positive: Mask
    sensible: Floats  # log of the prior's P(amount is sensible)
    usable: Index
    sides: dict[int, tuple[int, int]]  # difference column: left and right column
    needs: Index  # the columns, one of which a column can only stand beside, -1 for none; (m, 4)
    of: Index  # the equation's column that each of the first ones stands for
    way: Index  # and in which way it shows there: BY_TABLE, ALONE or BY_PAPER


def made_ready(fit: Equation) -> Problem:
    """Columns, precisions and priors of one fitting, for `weigh`."""
    precision = np.asarray(np.linalg.inv(fit.noise), dtype=np.float64)
    far = np.flatnonzero(fit.asked > FAR * fit.prior_sd)
    whole = np.array([c.side == "both" for c in fit.columns])
    much = np.flatnonzero((fit.asked > MUCH * fit.prior_sd) & whole & (fit.alone != fit.effects).any(axis=0))
    paper = np.flatnonzero(whole & (_explains(fit, fit.does, precision) > _explains(fit, fit.effects, precision) + EXPLAINS_MORE))
    kinds = [
        (np.arange(len(fit.columns)), 1.0, BY_TABLE),
        (far, LARGE, BY_TABLE),
        (much, 1.0, ALONE),
        (np.intersect1d(far, much), LARGE, ALONE),
        (paper, 1.0, BY_PAPER),
        (np.intersect1d(far, paper), LARGE, BY_PAPER),
    ]
    of = np.concatenate([columns for columns, _, _ in kinds])
    size = np.concatenate([np.full(len(columns), size) for columns, size, _ in kinds])
    way = np.concatenate([np.full(len(columns), way) for columns, _, way in kinds])
    place: dict[tuple[str, str], list[int]] = {}
    for j, k in enumerate(of):
        place.setdefault((fit.columns[k].alteration.id, fit.columns[k].side), []).append(j)
    differences = [
        (both, place[id, "wearer_left"], place[id, "wearer_right"])
        for (id, side), both in place.items()
        if side == "both"
        and (id, "wearer_right") in place
        and np.isfinite(fit.pair_log_odds[place[id, "wearer_left"][0], place[id, "wearer_right"][0]])
    ]
    m, extra = len(of), len(differences)
    apart = [(fit.effects[:, right[0]] - fit.effects[:, left[0]]) / 2 for _, left, right in differences]
    effects = np.column_stack([np.choose(way, [fit.effects[:, of], fit.alone[:, of], fit.does[:, of]]), *apart])
    prior_sd = np.concatenate([fit.prior_sd[of] * size, [DIFFERENCE * fit.prior_sd[both[0]] for both, _, _ in differences]])
    rarer = np.where(size > 1, np.log(LARGE_SHARE), 0.0) + np.log([1.0, ALONE_SHARE, PAPER_SHARE])[way]
    odds = np.concatenate([fit.log_odds[of] + rarer, np.zeros(extra)])
    pairs = np.zeros((m + extra, m + extra))
    pairs[:m, :m] = np.where((of[:, None] == of) & ~np.eye(m, dtype=bool), -np.inf, fit.pair_log_odds[of][:, of])
    needs = np.full((m + extra, len(kinds)), -1)
    clear = np.concatenate([(fit.signal > 0)[of], np.zeros(extra, dtype=bool)])
    for d, (both, left, right) in enumerate(differences, m):
        two = fit.log_odds[left[0]] + fit.log_odds[right[0]] + fit.pair_log_odds[left[0], right[0]]
        odds[d] = two - fit.log_odds[both[0]]
        needs[d, : len(both)] = both
        clear[d] = clear[left[0]] and clear[right[0]]
        pairs[np.ix_(left, right)] = pairs[np.ix_(right, left)] = -np.inf  # the same need, said as shared plus difference
        pairs[d, left + right] = pairs[left + right, d] = -np.inf
    positive = np.concatenate([fit.positive[of], np.zeros(extra, dtype=bool)])
    smallest = np.concatenate([fit.smallest[of], np.zeros(extra)])
    response = np.asarray(precision @ effects, dtype=np.float64)
    off = np.maximum(fit.tolerance, np.sqrt(np.diag(fit.noise)))  # one tolerance out, or one sd where cloth strays further
    wide = np.abs(fit.y) > WILD_FAR * WILD * off
    wild_sd = np.where(wide, WILD_LARGE, 1.0) * WILD * off
    wild_share = share_sensible(np.zeros(len(off)), wild_sd, WILD_FROM * off, np.zeros(len(off), dtype=bool))
    wild_odds = np.where(wide, WILD_LARGE_SHARE, 1.0) * PROBABILITY_WILD / (1 - PROBABILITY_WILD) / wild_share
    return Problem(
        effects.T @ response,
        response.T @ fit.y,
        response,
        precision @ fit.y,
        np.diag(precision),
        wild_sd**2,
        WILD_FROM * off,
        np.log(wild_odds),
        prior_sd,
        odds,
        pairs,
        LARGEST_SET * max(0.0, float(pairs.max(initial=0.0))),
        smallest,
        positive,
        np.log(share_sensible(np.zeros(m + extra), prior_sd, smallest, positive)),
        np.flatnonzero(clear),
        {d: (left[0], right[0]) for d, (_, left, right) in enumerate(differences, m)},
        needs,
        of,
        way,
    )


def _explains(fit: Equation, effects: Floats, precision: Floats) -> Floats:
    """Shape (m,): log evidence of each column by itself against nothing, its sign and smallest amount left aside."""
    seen = precision @ effects
    wide = 1 + fit.prior_sd**2 * np.einsum("nm,nm->m", effects, seen)
    found: Floats = 0.5 * ((fit.y @ seen) * fit.prior_sd) ** 2 / wide - 0.5 * np.log(wide)
    return found


def share_sensible(mean: Floats, sd: Floats, smallest: Floats, positive: Mask) -> Floats:
    """P(amount >= smallest), or P(|amount| >= smallest) where it may be negative."""
    share = share_below((mean - smallest) / sd)
    both = ~positive
    share[both] += share_below(((-smallest - mean) / sd)[both])
    likely: Floats = np.maximum(share, 1e-300)
    return likely
