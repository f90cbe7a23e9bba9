"""Every set of up to four alterations, weighed: the exact evidence for each, with and without one wild measurement.

Bayesian variable selection with conjugate Gaussian amounts (George & McCulloch 1997, sections 2-3): for a set S of variants with prior
covariance V and noise covariance C, the evidence against the empty set is
    log B(S) = b' K^-1 b / 2 - log det(V K) / 2,    K = V^-1 + A' C^-1 A,    b = A' C^-1 y,
and the amounts are Gaussian with mean K^-1 b and covariance K^-1. Sets grow by one column at a time, so that evidence and amounts follow
from the smaller set's by a rank-one update; amounts of the largest sets are worked out only where the evidence makes them matter. All sets
of up to four are weighed (up to three beside a wild measurement), so nothing is sampled. One measurement may be wild: its error then has a
further wide variance, again a rank-one update. Left and right with two amounts are solved as a shared amount plus a difference. An
alteration that is needed at all is needed by at least its smallest sensible amount, some only upwards: that cuts the middle (or all below)
out of the Gaussian prior and multiplies the evidence by P(amount is sensible) over its prior value (exact for one such amount in a set,
taken as independent for several). A wild error is likewise larger than mere noise.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitcheck.advice.equation import Equation
from fitcheck.advice.problem import BY_TABLE, LARGEST_SET, Index, Mask, Problem, made_ready, share_sensible
from fitcheck.core.records import Floats

WINDOW = 12.0  # sets less likely than the best by more than this (nats) are left out of averages
MOST_KEPT = 1500
HAIR = 1e-6  # nats, far above rounding: what may reach the least score is looked at exactly
AT_ONCE = 1000  # sets; the numbers of so many fit into a processor's cache


@dataclass(frozen=True, slots=True)
class Hypotheses:
    """The sets worth keeping, best first.

    Attributes
    ----------
    weight : ndarray, shape (k,)
        Posterior probabilities.
    sets : tuple of tuple of int
        Columns of the equation in each.
    wild : ndarray of int, shape (k,)
        Measurement taken as wild, -1 for none.
    member : ndarray of bool, shape (k, m)
        The same as a matrix.
    mean, variance : ndarray, shape (k, m)
        Of the amounts, 0 where not in the set.
    way : ndarray of int, shape (k, m)
        In which way each shows there (`problem`): BY_TABLE, ALONE or BY_PAPER.
    """

    weight: Floats
    sets: tuple[tuple[int, ...], ...]
    wild: Index
    member: Mask
    mean: Floats
    variance: Floats
    way: Index


@dataclass(frozen=True, slots=True)
class _Sets:
    """Sets of one size with what the growth to the next needs: (k, s), (k,), (k, s), (k, s, s)."""

    columns: Index
    base: Floats
    mean: Floats
    covariance: Floats


def weigh(fit: Equation) -> Hypotheses:
    """Evidence and amounts of every set, with and without one wild measurement; the likely ones are kept."""
    p = made_ready(fit)
    sets = _Sets(np.empty((1, 0), dtype=np.intp), np.zeros(1), np.empty((1, 0)), np.empty((1, 0, 0)))
    found: list[tuple[Floats, _Sets, Index]] = []
    best = -np.inf
    for size in range(LARGEST_SET + 1):
        if size:
            sets = _grow(sets, p, best - WINDOW if size == LARGEST_SET else -np.inf)
        found.append(_without_a_wild_reading(sets, p, best - WINDOW))
        best = max(best, found[-1][0].max(initial=-np.inf))
        if size < LARGEST_SET and len(fit.y):
            found.append(_with_a_wild_reading(sets, p, best - WINDOW))
            best = max(best, found[-1][0].max(initial=-np.inf))
    return _keep(found, best, p, len(fit.columns))


def _grow(sets: _Sets, p: Problem, least: float) -> _Sets:
    """Every set with one later column more; of those whose score cannot reach `least`, none.

    Done for a few sets with near last columns at a time: so the numbers fit into the processor's cache, and few earlier columns are tried.
    """
    last = sets.columns[:, -1] if sets.columns.shape[1] else np.full(len(sets.base), -1)
    order = np.argsort(last, kind="stable")
    grown = [_grown(rows, p.usable[p.usable > last[rows].min(initial=len(p.b))], sets, p, least) for rows in _few(order)]
    parent, child, base, pull, variance, seen = (np.concatenate(values) for values in zip(*grown, strict=True))
    order = np.lexsort([child, parent])
    parent, child, pull, v, w = parent[order], child[order], pull[order], variance[order], seen[order]
    s = sets.columns.shape[1]
    mean, covariance = np.empty((len(parent), s + 1)), np.empty((len(parent), s + 1, s + 1))
    mean[:, s] = pull * v
    mean[:, :s] = sets.mean[parent] - w * mean[:, [s]]
    covariance[:, :s, :s] = sets.covariance[parent] + w[:, :, None] * (w * v[:, None])[:, None, :]
    covariance[:, :s, s] = covariance[:, s, :s] = -w * v[:, None]
    covariance[:, s, s] = v
    return _Sets(np.column_stack([sets.columns[parent], child]), base[order], mean, covariance)


def _grown(rows: Index, later: Index, sets: _Sets, p: Problem, least: float) -> tuple[NDArray[np.generic], ...]:
    """Some of the sets with a later column more: set, column, score, what pulls at the amount, its variance, what the set sees."""
    columns = sets.columns[rows]
    cross = p.gram[columns[:, :, None], later]  # (k, s, c)
    seen = sets.covariance[rows] @ cross
    rest = np.diag(p.gram)[later] - np.einsum("ksc,ksc->kc", cross, seen)  # what a column shows that the set does not, squared
    pull = p.b[later] - np.einsum("ks,ksc->kc", sets.mean[rows], cross)
    variance = 1 / (p.prior_sd[later] ** -2 + rest)
    sensible = p.sensible[columns].sum(axis=1)
    base = sets.base[rows, None] + 0.5 * pull**2 * variance
    allowed = base + HAIR - sensible[:, None] - p.sensible[later] + p.log_odds[later] + p.most_pair > least
    if columns.shape[1]:
        allowed &= columns[:, -1:] < later
    members = np.zeros((len(rows), len(p.b) + 1), dtype=bool)  # the last one stands for none
    np.put_along_axis(members, columns, True, axis=1)
    tied = p.needs[later, 0] >= 0
    allowed[:, tied] &= members[:, p.needs[later[tied]]].any(axis=2)
    k, c = _where(allowed)
    child, score = later[c], base[k, c] + 0.5 * np.log(variance[k, c] / p.prior_sd[later[c]] ** 2)
    score += p.log_odds[child] + p.pairs[columns[k], child[:, None]].sum(axis=1)
    reach = np.isfinite(score) & (score - sensible[k] - p.sensible[child] > least)
    k, c = k[reach], c[reach]
    return rows[k], later[c], score[reach], pull[k, c], variance[k, c], seen[k, :, c]


def _without_a_wild_reading(sets: _Sets, p: Problem, least: float) -> tuple[Floats, _Sets, Index]:
    """The sets that can reach `least`, with their scores."""
    k = np.flatnonzero(sets.base - p.sensible[sets.columns].sum(axis=1) + HAIR > least)
    reach = _Sets(sets.columns[k], sets.base[k], sets.mean[k], sets.covariance[k])
    score = reach.base + _log_sensible(reach.mean, np.einsum("kaa->ka", reach.covariance), reach.columns, p)
    return score, reach, np.full(len(k), -1)


def _with_a_wild_reading(sets: _Sets, p: Problem, least: float) -> tuple[Floats, _Sets, Index]:
    """The same sets with each measurement in turn taken as wild; those that cannot reach `least` are left out."""
    grown = [_wild(rows, sets, p, least) for rows in _few(np.arange(len(sets.base)))]
    k, wild, score, lever, pull, variance = (np.concatenate(values) for values in zip(*grown, strict=True))
    mean = sets.mean[k] - lever * (pull * variance)[:, None]
    covariance = sets.covariance[k] + lever[:, :, None] * (lever * variance[:, None])[:, None, :]
    score = score + _log_sensible(mean, np.einsum("kaa->ka", covariance), sets.columns[k], p)
    return score, _Sets(sets.columns[k], score, mean, covariance), wild


def _wild(rows: Index, sets: _Sets, p: Problem, least: float) -> tuple[NDArray[np.generic], ...]:
    """Some of the sets with a wild reading: set, reading, score, leverage, what pulls at the error, its variance."""
    seen = p.response.T[sets.columns[rows]]  # (k, s, n)
    leverage = sets.covariance[rows] @ seen
    pull = p.pull - np.einsum("ks,ksn->kn", sets.mean[rows], seen)  # Q y, Q = (C + A V A')^-1
    q = p.precision - np.einsum("ksn,ksn->kn", leverage, seen)  # diagonal of Q
    widened = 1 + p.widening * q
    gain = 0.5 * pull**2 * (p.widening / widened)
    base = sets.base[rows]
    highest = base - p.sensible[sets.columns[rows]].sum(axis=1)
    gain += p.wild_log_odds
    k, wild = _where(gain > (least - HAIR - highest)[:, None])
    wide, drawn = widened[k, wild], pull[k, wild]
    variance = p.widening[wild] / wide
    gain = gain[k, wild] - 0.5 * np.log(wide)
    short = np.maximum(p.wild_from[wild] - np.abs(drawn) * variance, 0.0)  # of being wild; both tails together are below exp(-t^2 / 2)
    reach = highest[k] + gain - 0.5 * short**2 / variance > least
    k, wild, gain, drawn, variance = k[reach], wild[reach], gain[reach], drawn[reach], variance[reach]
    off = share_sensible(drawn * variance, np.sqrt(variance), p.wild_from[wild], np.zeros(len(k), dtype=bool))
    return rows[k], wild, base[k] + gain + np.log(off), leverage[k, :, wild], drawn, variance


def _where(true: Mask) -> tuple[Index, Index]:
    """`np.nonzero` of a matrix that is false nearly everywhere, in a third of the time."""
    row, column = np.divmod(np.flatnonzero(true), max(true.shape[1], 1))
    return row, column


def _few(rows: Index) -> list[Index]:
    """The rows in bundles, one at least."""
    return np.array_split(rows, max(1, len(rows) // AT_ONCE))


def _log_sensible(mean: Floats, variance: Floats, columns: Index, p: Problem) -> Floats:
    """Log of P(amount is sensible) over its prior value, summed over the set."""
    share = share_sensible(mean, np.sqrt(variance), p.smallest[columns], p.positive[columns])
    total: Floats = (np.log(share) - p.sensible[columns]).sum(axis=-1)
    return total


def _keep(found: list[tuple[Floats, _Sets, Index]], best: float, p: Problem, m: int) -> Hypotheses:
    score = np.concatenate([scores for scores, _, _ in found])
    block = np.repeat(np.arange(len(found)), [len(scores) for scores, _, _ in found])
    place = np.concatenate([np.arange(len(scores)) for scores, _, _ in found])
    kept = np.flatnonzero(score > best - WINDOW)
    kept = kept[np.argsort(-score[kept], kind="stable")][:MOST_KEPT]
    mean, variance = np.zeros((len(kept), m)), np.zeros((len(kept), m))
    way = np.full((len(kept), m), BY_TABLE)
    sets: list[tuple[int, ...]] = [()] * len(kept)
    for at, (_, one, _) in enumerate(found):
        rows = np.flatnonzero(block[kept] == at)
        columns, means, covariances = (values[place[kept[rows]]] for values in (one.columns, one.mean, one.covariance))
        members, amounts, spreads = _two_sides(columns, means, covariances, p)
        mean[rows[:, None], members] = amounts
        variance[rows[:, None], members] = spreads
        plain = (columns < len(p.of)).all(axis=1)  # difference columns come last
        way[rows[plain, None], members[plain]] = p.way[columns[plain]]
        for row, one in zip(rows, np.sort(members, axis=1).tolist(), strict=True):
            sets[row] = tuple(one)
    member = variance > 0
    column = np.nonzero(member)[1]
    mean[member], variance[member] = _sensible_moments(mean[member], np.sqrt(variance[member]), p.smallest[column], p.positive[column])
    weight = np.exp(score[kept] - best)
    wild = np.concatenate([taken for _, _, taken in found])[kept]
    return Hypotheses(weight / weight.sum(), tuple(sets), wild, member, mean, variance, way)


def _two_sides(columns: Index, mean: Floats, covariance: Floats, p: Problem) -> tuple[Index, Floats, Floats]:
    """Columns of the equation, amounts and their variances, (k, s) each; shared amount and difference said as one left and one right."""
    members = np.append(p.of, np.full(len(p.b) - len(p.of), -1))[columns]
    turn = np.tile(np.eye(columns.shape[1]), (len(columns), 1, 1))
    row, at = np.nonzero(members < 0)
    beside = (columns[row, :, None] == p.needs[columns[row, at], None, :]).any(axis=2)
    both = np.nonzero(beside)[1]  # one for each: shared amounts exclude each other
    members[row, both], members[row, at] = np.array([p.sides[d] for d in columns[row, at].tolist()], dtype=np.intp).reshape(-1, 2).T
    turn[row, both, at], turn[row, at, both], turn[row, at, at] = -0.5, 1.0, 0.5
    return members, (turn @ mean[:, :, None])[:, :, 0], (turn @ covariance * turn).sum(axis=2)


def _sensible_moments(mean: Floats, sd: Floats, smallest: Floats, positive: Mask) -> tuple[Floats, Floats]:
    """Mean and variance of a Gaussian without what is not sensible (Johnson, Kotz & Balakrishnan 1994, 13.10)."""
    share = share_sensible(mean, sd, smallest, positive)
    upper, lower = (smallest - mean) / sd, (smallest + mean) / sd  # distance of the two tails from the mean, in sd
    peak_upper, peak_lower = (np.exp(-0.5 * t**2) / np.sqrt(2 * np.pi) for t in (upper, lower))
    peak_lower = np.where(positive, 0.0, peak_lower)
    first = (peak_upper - peak_lower) / share
    second = 1 + (upper * peak_upper + lower * peak_lower) / share
    far = share < 1e-12  # hardly possible: the nearest sensible amount
    return np.where(far, smallest, mean + sd * first), np.where(far, sd**2, sd**2 * np.maximum(second - first**2, 1e-9))
