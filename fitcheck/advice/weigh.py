"""Every set of up to four alterations, weighed: the exact evidence for each, with and without one wild measurement.

Bayesian variable selection with conjugate Gaussian amounts (George & McCulloch 1997, sections 2-3): for a set S of variants with prior
covariance V and noise covariance C, the evidence against the empty set is
    log B(S) = b' K^-1 b / 2 - log det(V K) / 2,    K = V^-1 + A' C^-1 A,    b = A' C^-1 y,
and the amounts are Gaussian with mean K^-1 b and covariance K^-1. One measurement may be wild: its error then has a further wide
variance, which changes evidence and amounts by a rank-one update. All sets of up to four are weighed (up to three beside a wild
measurement), so nothing is sampled. Amounts that cannot be negative have a half-Gaussian prior, which multiplies the evidence by
2 P(amount > 0) (exact for one such amount in a set, taken as independent for several).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from fitcheck.advice.equation import PROBABILITY_WILD, WILD_IN_TOLERANCES, Equation
from fitcheck.core.records import Floats

LARGEST_SET = 4
WINDOW = 12.0  # sets less likely than the best by more than this (nats) are left out of averages
MOST_KEPT = 1500
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
    member : ndarray of bool, shape (k, m)
        The same as a matrix.
    mean, variance : ndarray, shape (k, m)
        Of the amounts, 0 where not in the set.
    """

    weight: Floats
    sets: tuple[tuple[int, ...], ...]
    wild: Index
    member: NDArray[np.bool_]
    mean: Floats
    variance: Floats


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
        base = log_prior + log_evidence
        scores.append(base + _log_sign(mean, variance, fit.positive[sets]))
        rows.append((sets, np.full(len(sets), -1), mean, variance))
        size = sets.shape[1]
        if size == LARGEST_SET:
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
        odds = np.log(PROBABILITY_WILD) - np.log1p(-PROBABILITY_WILD)
        score = base[:, None] + gain + odds
        score += _log_sign(shifted, spread, np.broadcast_to(fit.positive[sets][:, None, :], shifted.shape))
        k, n = score.shape
        scores.append(score.ravel())
        rows.append((np.repeat(sets, n, axis=0), np.tile(np.arange(n), k), shifted.reshape(k * n, size), spread.reshape(k * n, size)))
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
    member = variance > 0
    truncated = fit.positive[None, :] & member
    mean[truncated], variance[truncated] = _above_zero(mean[truncated], variance[truncated])
    weight = np.exp(np.array([score for score, _, _ in kept]) - best)
    return Hypotheses(weight / weight.sum(), tuple(sets), np.array([rows[b][1][i] for _, b, i in kept]), member, mean, variance)


def _above_zero(mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """Mean and variance of a Gaussian cut off below zero (Johnson, Kotz & Balakrishnan 1994, 13.10)."""
    sd = np.sqrt(variance)
    t = mean / sd
    hazard = np.exp(-0.5 * t**2 - log_ndtr(t)) / np.sqrt(2 * np.pi)
    return mean + sd * hazard, np.maximum(variance * (1 - hazard * (hazard + t)), 0.0)
