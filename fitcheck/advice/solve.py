"""The fit equation turned round: which alterations explain all measurements together, how likely, and by how much.

Bayesian variable selection with conjugate Gaussian amounts (George & McCulloch 1997, sections 2-3): for a set S of variants with prior
covariance V and noise covariance C, the evidence against the empty set is
    log B(S) = b' K^-1 b / 2 - log det(V K) / 2,    K = V^-1 + A' C^-1 A,    b = A' C^-1 y,
and the amounts are Gaussian with mean K^-1 b and covariance K^-1. One measurement may be wild: its error then has a further wide
variance, which changes evidence and amounts by a rank-one update. All sets of up to four are weighed (up to three beside a wild
measurement), so nothing is sampled. Amounts that cannot be negative have a half-Gaussian prior, which multiplies the evidence by
2 P(amount > 0) (exact for one such amount in a set, taken as independent for several).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from fitcheck.advice.equation import PROBABILITY_WILD, WILD_IN_TOLERANCES, Equation, equation
from fitcheck.advice.table import Knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Amount, Explanation, Floats, Measurement

LARGEST_SET = 4
WINDOW = 12.0  # sets less likely than the best by more than this (nats) are left out of averages
MOST_KEPT = 1500
NEEDED = 0.5  # an alteration is proposed above this probability ...
SURE_SD = 2.0  # ... if its amount is further than this many sd from nothing
CLEAR_SIGNAL = 1.0  # below this many sd a usual amount could not have been seen
WEIGHED = 0.5  # nats by which a measurement must speak for or against an alteration to be named
Index = NDArray[np.intp]


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
    mean, variance : ndarray, shape (k, m)
        Of the amounts, 0 where not in the set.
    """

    weight: Floats
    sets: tuple[tuple[int, ...], ...]
    wild: Index
    mean: Floats
    variance: Floats


@dataclass(frozen=True, slots=True)
class Evidence:
    """Keys of measurements that speak for and against one alteration, the strongest first."""

    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """What the measurements say about every alteration.

    Attributes
    ----------
    probabilities : dict of str to float
        That each alteration is needed at all, on whichever side.
    needed : tuple of Amount
        The alterations to propose, in the order of making.
    considered : tuple of Amount
        Every alteration with more than 5 % probability, most probable first.
    explanations : tuple of Explanation
        Most probable first.
    evidence : dict of (id, side) to Evidence
        For the needed ones.
    unexplained : tuple of str
        Measurements outside their tolerance after the needed alterations.
    wild : dict of str to float
        Probability that a measurement is plainly wrong, where above 5 %.
    unseen : tuple of str
        Alterations that would not have shown in what was measured.
    """

    probabilities: dict[str, float]
    needed: tuple[Amount, ...] = ()
    considered: tuple[Amount, ...] = ()
    explanations: tuple[Explanation, ...] = ()
    evidence: dict[tuple[str, str], Evidence] = field(default_factory=dict)
    unexplained: tuple[str, ...] = ()
    wild: dict[str, float] = field(default_factory=dict)
    unseen: tuple[str, ...] = ()
    fit: Equation | None = None
    hypotheses: Hypotheses | None = None


def solve(measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts) -> Solution:
    """Explain all measurements together by the fewest alterations.

    Parameters
    ----------
    measurements : sequence of Measurement
        Any number, also none; signed as in observables.toml.
    """
    fit = equation(measurements, table, fitting)
    unseen = _unseen(fit)
    if not fit.measured:
        return Solution({c.alteration.id: c.alteration.amounts.probability for c in fit.columns}, unseen=unseen, fit=fit)
    found = weigh(fit)
    amounts, probabilities = _average(fit, found)
    needed = tuple(a for a in amounts if _is_needed(a, fit))
    x = np.array([sum(a.amount_mm for a in needed if (a.id, a.side) == (c.alteration.id, c.side)) for c in fit.columns])
    wild = np.bincount(found.wild[found.wild >= 0], found.weight[found.wild >= 0], minlength=len(fit.y))
    return Solution(
        probabilities,
        tuple(sorted(needed, key=lambda a: table.order(a.id))),
        tuple(sorted((a for a in amounts if a.probability > 0.05), key=lambda a: -a.probability)),
        _explanations(fit, found),
        {(c.alteration.id, c.side): _evidence(fit, x, j) for j, c in enumerate(fit.columns) if x[j]},
        _outside(fit, x),
        {key: float(p) for key, p in zip(fit.keys, wild, strict=True) if p > 0.05},
        unseen,
        fit,
        found,
    )


def weigh(fit: Equation) -> Hypotheses:
    """Evidence and amounts of every set, with and without one wild measurement; the likely ones are kept."""
    precision = np.linalg.inv(fit.noise)
    response = precision @ fit.effects  # C^-1 A, (n, m)
    gram, b = fit.effects.T @ response, response.T @ fit.y
    widening = (WILD_IN_TOLERANCES * fit.tolerance) ** 2
    scores: list[Floats] = []
    rows: list[tuple[Index, Index, Floats, Floats]] = []
    for sets, log_prior in _sets(fit):
        mean, covariance, log_evidence = _posterior(sets, gram, b, fit.prior_sd)
        variance = np.einsum("kaa->ka", covariance)
        base = log_prior + log_evidence + np.log1p(-PROBABILITY_WILD)
        scores.append(base + _log_sign(mean, variance, fit.positive[sets]))
        rows.append((sets, np.full(len(sets), -1), mean, variance))
        if sets.shape[1] == LARGEST_SET:
            continue
        seen = response.T[sets]  # (k, s, n)
        leverage = np.einsum("kab,kbn->kan", covariance, seen)
        pull = precision @ fit.y - np.einsum("kan,ka->kn", seen, mean)  # Q y
        q = np.diag(precision) - np.einsum("kan,kan->kn", leverage, seen)  # diag Q, Q = (C + A V A')^-1
        error_variance = widening / (1 + widening * q)
        error = pull * error_variance
        gain = 0.5 * pull * error - 0.5 * np.log1p(widening * q)
        shifted = mean[:, None, :] - np.einsum("kan,kn->kna", leverage, error)
        spread = variance[:, None, :] + np.einsum("kan,kn->kna", leverage**2, error_variance)
        odds = np.log(PROBABILITY_WILD / len(fit.y)) - np.log1p(-PROBABILITY_WILD)
        score = base[:, None] + gain + odds
        score += _log_sign(shifted, spread, np.broadcast_to(fit.positive[sets][:, None, :], shifted.shape))
        k, n = score.shape
        scores.append(score.ravel())
        rows.append((np.repeat(sets, n, axis=0), np.tile(np.arange(n), k), shifted.reshape(k * n, -1), spread.reshape(k * n, -1)))
    return _keep(scores, rows, fit)


def _sets(fit: Equation) -> list[tuple[Index, Floats]]:
    """All admissible sets by size, (k, size), with their prior log odds: each grown from smaller ones by a later column."""
    sets, prior = np.empty((1, 0), dtype=np.intp), np.zeros(1)
    found = [(sets, prior)]
    clear = np.flatnonzero(fit.signal > 0)
    for _ in range(LARGEST_SET):
        last = sets[:, -1] if sets.shape[1] else np.array([-1])
        parent, column = np.nonzero(last[:, None] < clear[None, :])
        column = clear[column]
        prior = prior[parent] + fit.log_odds[column] + fit.pair_log_odds[sets[parent], column[:, None]].sum(axis=1)
        sets = np.column_stack([sets[parent], column])
        sets, prior = sets[np.isfinite(prior)], prior[np.isfinite(prior)]
        found.append((sets, prior))
    return found


def _posterior(sets: Index, gram: Floats, b: Floats, prior_sd: Floats) -> tuple[Floats, Floats, Floats]:
    """Means (k, s), covariances (k, s, s) and log evidence (k,). Cholesky written out: LAPACK is slow on very many tiny matrices."""
    k, size = sets.shape
    prior = prior_sd[sets]
    inverse = np.zeros((size, size, k))  # of the Cholesky factor of K
    factor = np.zeros((size, size, k))
    log_det = 2 * np.log(prior).sum(axis=1)
    for i in range(size):
        for j in range(i + 1):
            value = gram[sets[:, i], sets[:, j]] - (factor[i, :j] * factor[j, :j]).sum(axis=0)
            factor[i, j] = np.sqrt(value + 1 / prior[:, i] ** 2) if i == j else value / factor[j, j]
        log_det += 2 * np.log(factor[i, i])
        inverse[i, i] = 1 / factor[i, i]
        for j in range(i):
            inverse[i, j] = -(factor[i, j:i] * inverse[j:i, j]).sum(axis=0) * inverse[i, i]
    z = np.einsum("abk,kb->ak", inverse, b[sets])
    mean = np.einsum("abk,ak->kb", inverse, z)
    covariance = np.einsum("cak,cbk->kab", inverse, inverse)
    return mean, covariance, 0.5 * (z**2).sum(axis=0) - 0.5 * log_det


def _log_sign(mean: Floats, variance: Floats, positive: NDArray[np.bool_]) -> Floats:
    """Log of P(amount > 0) over its prior one half, summed over the amounts that cannot be negative."""
    gain = np.zeros(mean.shape)
    gain[positive] = np.log(2) + log_ndtr(mean[positive] / np.sqrt(variance[positive]))
    total: Floats = gain.sum(axis=-1)
    return total


def _keep(scores: list[Floats], rows: list[tuple[Index, Index, Floats, Floats]], fit: Equation) -> Hypotheses:
    best = max(score.max(initial=-np.inf) for score in scores)
    kept: list[tuple[float, int, int]] = []
    for block, score in enumerate(scores):
        kept += [(float(score[i]), block, int(i)) for i in np.flatnonzero(score > best - WINDOW)]
    kept = sorted(kept, reverse=True)[:MOST_KEPT]
    mean, variance = np.zeros((len(kept), len(fit.columns))), np.zeros((len(kept), len(fit.columns)))
    sets = []
    for row, (_, block, i) in enumerate(kept):
        columns, _, means, variances = rows[block]
        sets.append(tuple(int(c) for c in columns[i]))
        mean[row, columns[i]], variance[row, columns[i]] = means[i], variances[i]
    truncated = fit.positive[None, :] & (variance > 0)
    mean[truncated], variance[truncated] = _above_zero(mean[truncated], variance[truncated])
    weight = np.exp(np.array([score for score, _, _ in kept]) - best)
    return Hypotheses(weight / weight.sum(), tuple(sets), np.array([rows[b][1][i] for _, b, i in kept]), mean, variance)


def _above_zero(mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """Mean and variance of a Gaussian cut off below zero (Johnson, Kotz & Balakrishnan 1994, 13.10)."""
    sd = np.sqrt(variance)
    t = mean / sd
    hazard = np.exp(-0.5 * t**2 - log_ndtr(t)) / np.sqrt(2 * np.pi)
    return mean + sd * hazard, np.maximum(variance * (1 - hazard * (hazard + t)), 0.0)


def _average(fit: Equation, found: Hypotheses) -> tuple[list[Amount], dict[str, float]]:
    """Amounts of each alteration on its most probable sides, averaged over the sets that have it there."""
    amounts: list[Amount] = []
    probabilities: dict[str, float] = {}
    for id in dict.fromkeys(c.alteration.id for c in fit.columns):
        columns = [j for j, c in enumerate(fit.columns) if c.alteration.id == id]
        variants: dict[tuple[int, ...], list[int]] = {}
        for row, members in enumerate(found.sets):
            if chosen := tuple(j for j in columns if j in members):
                variants.setdefault(chosen, []).append(row)
        mass = {chosen: float(found.weight[in_rows].sum()) for chosen, in_rows in variants.items()}
        probabilities[id] = sum(mass.values())
        if not mass:
            continue
        chosen = max(mass, key=lambda c: mass[c])
        share = found.weight[variants[chosen]] / mass[chosen]
        for j in chosen:
            means, variances = found.mean[variants[chosen], j], found.variance[variants[chosen], j]
            mean = float(share @ means)
            sd = float(np.sqrt(share @ (variances + (means - mean) ** 2)))
            amounts.append(Amount(id, fit.columns[j].side, mean, sd, min(1.0, probabilities[id])))
    return amounts, probabilities


def _is_needed(amount: Amount, fit: Equation) -> bool:
    """Probable, large enough to be worth a cut, surely not nothing, and to be seen in a measurement beyond its tolerance."""
    j = next(j for j, c in enumerate(fit.columns) if (c.alteration.id, c.side) == (amount.id, amount.side))
    shown = fit.effects[:, j] * amount.amount_mm
    visible = (np.abs(shown) > fit.tolerance / 2) & (np.abs(fit.y) > fit.tolerance) & (shown * fit.y > 0)
    large = abs(amount.amount_mm) >= max(fit.columns[j].alteration.amounts.smallest, SURE_SD * amount.sd_mm)
    return amount.probability > NEEDED and large and bool(visible.any())


def _outside(fit: Equation, x: Floats) -> tuple[str, ...]:
    left = np.abs(fit.y - fit.effects @ x)
    unsure = np.array([SURE_SD * m.sd for m in fit.measured])
    return tuple(key for key, out in zip(fit.keys, left > np.maximum(fit.tolerance, unsure), strict=True) if out)


def _explanations(fit: Equation, found: Hypotheses, most: int = 5) -> tuple[Explanation, ...]:
    merged: dict[tuple[int, ...], list[int]] = {}
    for row, members in enumerate(found.sets):
        merged.setdefault(members, []).append(row)
    explanations = []
    for members, in_rows in merged.items():
        weight = float(found.weight[in_rows].sum())
        share = found.weight[in_rows] / weight
        mean = share @ found.mean[in_rows]
        sd = np.sqrt(share @ (found.variance[in_rows] + (found.mean[in_rows] - mean) ** 2))
        amounts = tuple(
            Amount(fit.columns[j].alteration.id, fit.columns[j].side, float(mean[j]), float(sd[j]), min(1.0, weight)) for j in members
        )
        explanations.append(Explanation(weight, amounts, _outside(fit, mean)))
    return tuple(sorted(explanations, key=lambda e: -e.weight)[:most])


def _evidence(fit: Equation, x: Floats, j: int) -> Evidence:
    """Half the growth of each squared standardised residual if the alteration were left out (nats)."""
    variance = np.diag(fit.noise)
    residual = fit.y - fit.effects @ x
    speaks = ((residual + fit.effects[:, j] * x[j]) ** 2 - residual**2) / (2 * variance)
    order = np.argsort(-np.abs(speaks))
    return Evidence(
        tuple(fit.keys[k] for k in order if speaks[k] > WEIGHED),
        tuple(fit.keys[k] for k in order if speaks[k] < -WEIGHED),
    )


def _unseen(fit: Equation) -> tuple[str, ...]:
    clear = {c.alteration.id for c, signal in zip(fit.columns, fit.signal, strict=True) if signal >= CLEAR_SIGNAL}
    return tuple(dict.fromkeys(c.alteration.id for c in fit.columns if c.alteration.id not in clear))
