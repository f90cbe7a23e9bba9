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
taken as independent for several).

Most amounts are of a usual size and a few far larger: where a reading asks for it, a column is weighed a second time with a wide prior, the
two excluding each other, so that the prior has two scales and all stays exact. Likewise, where much is asked for, it may all show in the
clearest readings and nothing elsewhere (`Equation.alone`). So a large reading is believed, and wild is what contradicts others.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from fitcheck.advice.equation import PROBABILITY_WILD, WILD_IN_TOLERANCES, Equation
from fitcheck.core.records import Floats

LARGEST_SET = 4
WINDOW = 12.0  # sets less likely than the best by more than this (nats) are left out of averages
MOST_KEPT = 1500
LARGE, LARGE_SHARE = 3.0, 0.1  # spread of the amounts far larger than usual, in usual ones, and their share of all (estimate)
FAR = 2.0  # such are weighed where a reading asks for more than so many spreads: elsewhere they have next to no weight
ALONE_SHARE = 0.1  # of alterations show in their clearest readings alone (estimate) ...
MUCH = 1.25  # ... weighed where more than so many spreads are asked for, on both sides
DIFFERENCE = 0.7  # spread of the difference between two sides, in spreads of the alteration (estimate)
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]


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
    alone : ndarray of bool, shape (k, m)
        Whether it shows in its clearest readings alone.
    """

    weight: Floats
    sets: tuple[tuple[int, ...], ...]
    wild: Index
    member: Mask
    mean: Floats
    variance: Floats
    alone: Mask


@dataclass(frozen=True, slots=True)
class _Problem:
    """The equation made ready: its columns, some once more (large, alone or both), then a difference (right minus left) for each pair of
    sides."""

    gram: Floats  # A' C^-1 A
    b: Floats  # A' C^-1 y
    response: Floats  # C^-1 A, (n, m)
    pull: Floats  # C^-1 y
    precision: Floats  # diagonal of C^-1
    widening: Floats  # variance a wild error adds
    prior_sd: Floats
    log_odds: Floats
    pairs: Floats
    smallest: Floats  # of the amounts, 0 for differences
    positive: Mask
    sensible: Floats  # log of the prior's P(amount is sensible)
    usable: Index
    sides: dict[int, tuple[int, int]]  # difference column: left and right column
    needs: Index  # the columns, one of which a column can only stand beside, -1 for none; (m, 4)
    of: Index  # the equation's column that each of the first ones stands for
    alone: Mask  # and whether it is the one that shows in its clearest readings alone


@dataclass(frozen=True, slots=True)
class _Sets:
    """Sets of one size with what the growth to the next needs: (k, s), (k,), (k, s), (k, s, s)."""

    columns: Index
    base: Floats
    mean: Floats
    covariance: Floats


def weigh(fit: Equation) -> Hypotheses:
    """Evidence and amounts of every set, with and without one wild measurement; the likely ones are kept."""
    p = _problem(fit)
    sets = _Sets(np.empty((1, 0), dtype=np.intp), np.zeros(1), np.empty((1, 0)), np.empty((1, 0, 0)))
    found: list[tuple[Floats, _Sets, Index]] = []
    best = -np.inf
    for size in range(LARGEST_SET + 1):
        if size:
            sets = _grow(sets, p, best - WINDOW if size == LARGEST_SET else -np.inf)
        calm = sets.base + _log_sensible(sets.mean, np.einsum("kaa->ka", sets.covariance), sets.columns, p)
        best = max(best, calm.max(initial=-np.inf))
        found.append((calm, sets, np.full(len(calm), -1)))
        if size < LARGEST_SET and len(fit.y):
            found.append(_with_a_wild_reading(sets, p, best - WINDOW))
            best = max(best, found[-1][0].max(initial=-np.inf))
    return _keep(found, best, p, len(fit.columns))


def _problem(fit: Equation) -> _Problem:
    precision = np.linalg.inv(fit.noise)
    far = np.flatnonzero(fit.asked > FAR * fit.prior_sd)
    whole = np.array([c.side == "both" for c in fit.columns])
    much = np.flatnonzero((fit.asked > MUCH * fit.prior_sd) & whole & (fit.alone != fit.effects).any(axis=0))
    kinds = [(np.arange(len(fit.columns)), 1.0, False), (far, LARGE, False), (much, 1.0, True), (np.intersect1d(far, much), LARGE, True)]
    of = np.concatenate([columns for columns, _, _ in kinds])
    size = np.concatenate([np.full(len(columns), size) for columns, size, _ in kinds])
    alone = np.concatenate([np.full(len(columns), alone) for columns, _, alone in kinds])
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
    effects = np.column_stack([np.where(alone, fit.alone[:, of], fit.effects[:, of]), *apart])
    prior_sd = np.concatenate([fit.prior_sd[of] * size, [DIFFERENCE * fit.prior_sd[both[0]] for both, _, _ in differences]])
    rarer = np.where(size > 1, np.log(LARGE_SHARE), 0.0) + np.where(alone, np.log(ALONE_SHARE), 0.0)
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
    return _Problem(
        effects.T @ response,
        response.T @ fit.y,
        response,
        precision @ fit.y,
        np.diag(precision),
        (WILD_IN_TOLERANCES * fit.tolerance) ** 2,
        prior_sd,
        odds,
        pairs,
        smallest,
        positive,
        np.log(_share_sensible(np.zeros(m + extra), prior_sd, smallest, positive)),
        np.flatnonzero(clear),
        {d: (left[0], right[0]) for d, (_, left, right) in enumerate(differences, m)},
        needs,
        of,
        alone,
    )


def _grow(sets: _Sets, p: _Problem, least: float) -> _Sets:
    """Every set with one later column more; of those whose score cannot reach `least`, none."""
    last = sets.columns[:, -1] if sets.columns.shape[1] else np.full(len(sets.base), -1)
    cross = p.gram[:, p.usable][sets.columns]  # (k, s, c)
    seen = sets.covariance @ cross
    rest = np.diag(p.gram)[p.usable] - (cross * seen).sum(axis=1)  # what a column shows that the set does not, squared
    pull = p.b[p.usable] - (sets.mean[:, :, None] * cross).sum(axis=1)
    variance = 1 / (p.prior_sd[p.usable] ** -2 + rest)
    base = sets.base[:, None] + 0.5 * pull**2 * variance + 0.5 * np.log(variance / p.prior_sd[p.usable] ** 2)
    base += p.log_odds[p.usable] + p.pairs[:, p.usable][sets.columns].sum(axis=1)
    allowed = last[:, None] < p.usable
    for place in np.flatnonzero(p.needs[p.usable, 0] >= 0):
        allowed[:, place] &= np.isin(sets.columns, p.needs[p.usable[place]]).any(axis=1)
    highest = base - p.sensible[sets.columns].sum(axis=1)[:, None] - p.sensible[p.usable]
    parent, child = np.nonzero(allowed & np.isfinite(base) & (highest > least))
    s, w, v = sets.columns.shape[1], seen[parent, :, child], variance[parent, child]
    mean, covariance = np.empty((len(parent), s + 1)), np.empty((len(parent), s + 1, s + 1))
    mean[:, s] = pull[parent, child] * v
    mean[:, :s] = sets.mean[parent] - w * mean[:, [s]]
    covariance[:, :s, :s] = sets.covariance[parent] + w[:, :, None] * (w * v[:, None])[:, None, :]
    covariance[:, :s, s] = covariance[:, s, :s] = -w * v[:, None]
    covariance[:, s, s] = v
    return _Sets(np.column_stack([sets.columns[parent], p.usable[child]]), base[parent, child], mean, covariance)


def _with_a_wild_reading(sets: _Sets, p: _Problem, least: float) -> tuple[Floats, _Sets, Index]:
    """The same sets with each measurement in turn taken as wild; those that cannot reach `least` are left out."""
    seen = p.response.T[sets.columns]  # (k, s, n)
    leverage = sets.covariance @ seen
    pull = p.pull - (seen * sets.mean[:, :, None]).sum(axis=1)  # Q y, Q = (C + A V A')^-1
    q = p.precision - (leverage * seen).sum(axis=1)  # diagonal of Q
    error_variance = p.widening / (1 + p.widening * q)
    score = sets.base[:, None] + 0.5 * pull**2 * error_variance - 0.5 * np.log1p(p.widening * q)
    score += np.log(PROBABILITY_WILD) - np.log1p(-PROBABILITY_WILD)
    highest = score - p.sensible[sets.columns].sum(axis=1)[:, None]
    k, wild = np.nonzero(highest > least)
    lever, variance = leverage[k, :, wild], error_variance[k, wild]
    mean = sets.mean[k] - lever * (pull[k, wild] * variance)[:, None]
    covariance = sets.covariance[k] + lever[:, :, None] * (lever * variance[:, None])[:, None, :]
    score = score[k, wild] + _log_sensible(mean, np.einsum("kaa->ka", covariance), sets.columns[k], p)
    return score, _Sets(sets.columns[k], score, mean, covariance), wild


def _log_sensible(mean: Floats, variance: Floats, columns: Index, p: _Problem) -> Floats:
    """Log of P(amount is sensible) over its prior value, summed over the set."""
    share = _share_sensible(mean, np.sqrt(variance), p.smallest[columns], p.positive[columns])
    total: Floats = (np.log(share) - p.sensible[columns]).sum(axis=-1)
    return total


def _share_sensible(mean: Floats, sd: Floats, smallest: Floats, positive: Mask) -> Floats:
    """P(amount >= smallest), or P(|amount| >= smallest) where it may be negative."""
    below = np.where(positive, 0.0, ndtr((-smallest - mean) / sd))
    share: Floats = np.maximum(ndtr((mean - smallest) / sd) + below, 1e-300)
    return share


def _keep(found: list[tuple[Floats, _Sets, Index]], best: float, p: _Problem, m: int) -> Hypotheses:
    score = np.concatenate([scores for scores, _, _ in found])
    block = np.repeat(np.arange(len(found)), [len(scores) for scores, _, _ in found])
    place = np.concatenate([np.arange(len(scores)) for scores, _, _ in found])
    kept = np.flatnonzero(score > best - WINDOW)
    kept = kept[np.argsort(-score[kept], kind="stable")][:MOST_KEPT]
    mean, variance = np.zeros((len(kept), m)), np.zeros((len(kept), m))
    alone = np.zeros((len(kept), m), dtype=bool)
    sets: list[tuple[int, ...]] = [()] * len(kept)
    for at, (_, one, _) in enumerate(found):
        rows = np.flatnonzero(block[kept] == at)
        columns, means, covariances = (values[place[kept[rows]]] for values in (one.columns, one.mean, one.covariance))
        plain = (columns < len(p.of)).all(axis=1)  # difference columns come last
        usual = p.of[columns[plain]]
        mean[rows[plain, None], usual] = means[plain]
        variance[rows[plain, None], usual] = np.einsum("kaa->ka", covariances[plain])
        alone[rows[plain, None], usual] = p.alone[columns[plain]]
        for row, members in zip(rows[plain], usual.tolist(), strict=True):
            sets[row] = tuple(sorted(members))
        for row, chosen, shared, spread in zip(rows[~plain], columns[~plain], means[~plain], covariances[~plain], strict=True):
            members, amounts, spreads = _two_sides(chosen, shared, spread, p)
            mean[row, members], variance[row, members] = amounts, spreads
            sets[row] = tuple(sorted(members))
    member = variance > 0
    column = np.nonzero(member)[1]
    mean[member], variance[member] = _sensible_moments(mean[member], np.sqrt(variance[member]), p.smallest[column], p.positive[column])
    weight = np.exp(score[kept] - best)
    wild = np.concatenate([taken for _, _, taken in found])[kept]
    return Hypotheses(weight / weight.sum(), tuple(sets), wild, member, mean, variance, alone)


def _two_sides(columns: Index, mean: Floats, covariance: Floats, p: _Problem) -> tuple[list[int], Floats, Floats]:
    """Shared amount and difference said as an amount on the left and one on the right."""
    members: list[int] = [int(p.of[j]) if j < len(p.of) else int(j) for j in columns]
    turn = np.eye(len(members))
    for at, column in enumerate(columns):
        if int(column) in p.sides:
            both = next(i for i, member in enumerate(columns) if member in p.needs[column])
            members[both], members[at] = p.sides[int(column)]
            turn[both, [both, at]] = 1, -0.5
            turn[at, [both, at]] = 1, 0.5
    return members, turn @ mean, np.diag(turn @ covariance @ turn.T)


def _sensible_moments(mean: Floats, sd: Floats, smallest: Floats, positive: Mask) -> tuple[Floats, Floats]:
    """Mean and variance of a Gaussian without what is not sensible (Johnson, Kotz & Balakrishnan 1994, 13.10)."""
    share = _share_sensible(mean, sd, smallest, positive)
    upper, lower = (smallest - mean) / sd, (smallest + mean) / sd  # distance of the two tails from the mean, in sd
    peak_upper, peak_lower = (np.exp(-0.5 * t**2) / np.sqrt(2 * np.pi) for t in (upper, lower))
    peak_lower = np.where(positive, 0.0, peak_lower)
    first = (peak_upper - peak_lower) / share
    second = 1 + (upper * peak_upper + lower * peak_lower) / share
    far = share < 1e-12  # hardly possible: the nearest sensible amount
    return np.where(far, smallest, mean + sd * first), np.where(far, sd**2, sd**2 * np.maximum(second - first**2, 1e-9))
