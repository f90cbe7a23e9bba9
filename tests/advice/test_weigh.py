"""The evidence of every set against scipy's multivariate normal, numerical integration and numbers worked by hand."""

import math
from itertools import combinations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm, truncnorm

from fitcheck.advice.equation import PROBABILITY_WILD, Equation, equation
from fitcheck.advice.problem import ALONE, LARGEST_SET, WILD, WILD_FROM
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.weigh import WINDOW, Hypotheses, weigh
from fitcheck.core.fitting import FittingFacts

FACTS = FittingFacts()


def tiny(table: Knowledge, measure, effects, y, prior_sd, odds, noise, positive=None, smallest=0.0, asked=0.0, alone=None) -> Equation:
    """An equation of a few columns, independent of the tables' numbers."""
    effects = np.array(effects, float)
    n, m = effects.shape
    columns = equation([], table, FACTS).columns[:m]
    measured = tuple(measure(key, 0) for key in ("bust_mark_above_L", "bust_mark_above_R", "waist_mark_above_front")[:n])
    return Equation(
        measured,
        np.array(y, float),
        np.full(n, 4.0),
        np.full(n, 1.0),
        np.array(noise, float),
        np.array(noise, float),
        columns,
        effects,
        effects,
        np.zeros((n, m)),
        np.array(prior_sd, float),
        np.array(positive or [False] * m),
        np.log(odds),
        np.zeros((m, m)),
        np.full(m, smallest),
        np.full(m, asked),
        effects if alone is None else np.array(alone, float),
    )


def weight_of(found: Hypotheses, members: tuple[int, ...], wild: int = -1) -> float:
    return next((float(w) for w, s, k in zip(found.weight, found.sets, found.wild, strict=True) if s == members and k == wild), 0.0)


def test_one_reading_worked_by_hand(table: Knowledge, measure) -> None:
    # y = 10, sd 2; amount prior sd 8; odds 1/4. Against nothing, B = sqrt(4/68) exp(100/8 - 100/136) = 31170,
    # so the odds are 7790 : 1; the amount is 10 * 64/68 = 9.41 with sd sqrt(4 * 64/68) = 1.94.
    fit = tiny(table, measure, [[1.0]], [10.0], [8.0], [0.25], [[4.0]])
    found = weigh(fit)
    bayes_factor = math.sqrt(4 / 68) * math.exp(100 / 8 - 100 / 136)
    assert bayes_factor == pytest.approx(31170, rel=1e-3)
    assert weight_of(found, (0,)) / weight_of(found, ()) == pytest.approx(bayes_factor / 4)
    row = found.sets.index((0,))
    assert found.mean[row, 0] == pytest.approx(9.4118, abs=1e-4)
    assert math.sqrt(found.variance[row, 0]) == pytest.approx(1.9403, abs=1e-4)


def test_all_weights_agree_with_scipy(table: Knowledge, measure) -> None:
    effects = [[1.0, 0.3], [0.4, -1.0], [0.0, 0.5]]
    noise = [[4.0, 1.0, 0.0], [1.0, 6.0, 0.5], [0.0, 0.5, 5.0]]
    odds, prior_sd = [0.25, 0.1], [8.0, 12.0]
    fit = tiny(table, measure, effects, [6.0, -5.0, 1.0], prior_sd, odds, noise)
    out = np.maximum(4.0, np.sqrt(np.diag(noise)))  # tolerance, or the noise where that is more
    expected = {}
    for size in range(3):
        for members in combinations(range(2), size):
            for wild in range(-1, 3):
                a = fit.effects[:, members]
                covariance = fit.noise + a @ np.diag(np.square(prior_sd)[list(members)]) @ a.T
                prior = 1.0
                if wild >= 0:  # an error of that reading alone, not below its least
                    wide, least = (WILD * out[wild]) ** 2, WILD_FROM * out[wild]
                    covariance[wild, wild] += wide
                    mean = wide * np.linalg.solve(covariance, fit.y)[wild]
                    sd = math.sqrt(wide - wide**2 * np.linalg.inv(covariance)[wild, wild])
                    prior = PROBABILITY_WILD / (1 - PROBABILITY_WILD) / (2 * norm.sf(least / math.sqrt(wide)))
                    prior *= norm.sf((least - mean) / sd) + norm.cdf((-least - mean) / sd)
                density = multivariate_normal(np.zeros(3), covariance).pdf(fit.y)
                expected[members, wild] = prior * float(np.prod(np.array(odds)[list(members)])) * density
    least = max(expected.values()) * math.exp(-WINDOW)
    expected = {one: weight for one, weight in expected.items() if weight > least}
    total = sum(expected.values())
    found = weigh(fit)
    assert len(found.weight) == len(expected) > 10
    for (members, wild), weight in expected.items():
        assert weight_of(found, members, wild) == pytest.approx(weight / total, rel=1e-9)


def test_amounts_beside_a_wild_reading_agree_with_conditioning(table: Knowledge, measure) -> None:
    fit = tiny(table, measure, [[1.0], [1.0]], [9.0, -20.0], [8.0], [0.3], [[4.0, 1.0], [1.0, 4.0]])
    found = weigh(fit)
    row = next(i for i, (s, k) in enumerate(zip(found.sets, found.wild, strict=True)) if s == (0,) and k == 1)
    noise = fit.noise + np.diag([0, (WILD * 4.0) ** 2])
    a = fit.effects
    gain = 64 * a.T @ np.linalg.inv(noise + 64 * a @ a.T)
    assert found.mean[row, 0] == pytest.approx(float((gain @ fit.y)[0]))
    assert found.variance[row, 0] == pytest.approx(float(64 - 64 * (gain @ a)[0, 0]))
    assert found.sets[0] == (0,)
    assert found.wild[0] == 1


@pytest.mark.parametrize("reading", [7.0, -3.0])
def test_half_gaussian_prior_agrees_with_integration(table: Knowledge, measure, reading: float) -> None:
    fit = tiny(table, measure, [[1.0]], [reading], [8.0], [0.5], [[4.0]], positive=[True])

    def joint(x: float) -> float:
        return 2 * math.exp(-(x**2) / 128) / math.sqrt(2 * math.pi * 64) * math.exp(-((reading - x) ** 2) / 8)

    evidence = quad(joint, 0, 100, epsabs=1e-14, limit=200, points=[max(reading, 0.1)])[0] / math.exp(-(reading**2) / 8)
    found = weigh(fit)
    assert weight_of(found, (0,)) / weight_of(found, ()) == pytest.approx(0.5 * evidence, rel=1e-6)
    mean, sd = reading * 64 / 68, math.sqrt(4 * 64 / 68)
    cut = truncnorm(-mean / sd, np.inf, loc=mean, scale=sd)
    row = next(i for i, (s, k) in enumerate(zip(found.sets, found.wild, strict=True)) if s == (0,) and k == -1)
    assert found.mean[row, 0] == pytest.approx(cut.mean(), rel=1e-6)
    assert found.variance[row, 0] == pytest.approx(cut.var(), rel=1e-4)


def test_sets_are_bounded_and_never_hold_both_and_one_side(table: Knowledge, measure) -> None:
    keys = ("shoulder_seam_behind_tip_L", "shoulder_seam_behind_tip_R", "bust_mark_above_L", "bust_mark_above_R", "waist_mark_above_back")
    fit = equation([measure(key, value) for key, value in zip(keys, (12, 4, 9, 9, -10), strict=True)], table, FACTS)
    found = weigh(fit)
    assert max(map(len, found.sets)) == LARGEST_SET
    assert found.weight.sum() == pytest.approx(1)
    assert (np.diff(found.weight) <= 0).all()
    for members in found.sets:
        names = [(fit.columns[j].alteration.id, fit.columns[j].side) for j in members]
        assert not any((id, "both") in names and (id, side) in names for id, _ in names for side in ("wearer_left", "wearer_right"))


def test_a_large_amount_has_a_prior_of_its_own(table: Knowledge, measure) -> None:
    """y = 40, sd 2, spread 8. Usual: exp(-1600/136)/sqrt(68); large, three spreads, three in ten: 0.3 exp(-1600/1160)/sqrt(580).
    1/8.25 e-11.76 is 9.5e-7, 0.3/24.1 e-1.379 is 3.14e-3: the large one has it, and the amount is 40 * 576/580. Or the reading is wild,
    ten tolerances out: three in ten of such have three times the spread, 36, of errors from 10 on, which is 0.78 of that Gaussian."""
    fit = tiny(table, measure, [[1.0]], [40.0], [8.0], [0.25], [[4.0]], asked=40.0)
    found = weigh(fit)
    weights = {(s, k): 0.0 for s, k in zip(found.sets, found.wild.tolist(), strict=True)}
    for s, k, w in zip(found.sets, found.wild.tolist(), found.weight, strict=True):
        weights[s, k] += float(w)
    usual, large = math.exp(-1600 / 136) / math.sqrt(68), 0.3 * math.exp(-1600 / 1160) / math.sqrt(580)
    nothing_wild = 0.3 * math.exp(-1600 / (2 * 1300)) / math.sqrt(1300) / (2 * norm.sf(10 / 36)) * PROBABILITY_WILD / (1 - PROBABILITY_WILD)
    assert weights[(0,), -1] / weights[(), 0] == pytest.approx(0.25 * (usual + large) / nothing_wild, rel=1e-6)
    best = next(row for row, (s, k) in enumerate(zip(found.sets, found.wild, strict=True)) if (s, k) == ((0,), -1))
    assert found.mean[best, 0] == pytest.approx(40 * 576 / 580, rel=1e-6)


def test_what_shows_in_its_clearest_reading_alone_is_weighed_beside_the_table(table: Knowledge, measure) -> None:
    """The table: half in each of three readings. 20 in two of them and nothing in the third: all of it shows in those two."""
    alone = [[1.0], [1.0], [0.0]]
    fit = tiny(table, measure, [[0.5]] * 3, [20.0, 20.0, 0.0], [8.0], [0.25], 2 * np.eye(3), asked=20.0, alone=alone)
    found = weigh(fit)
    assert found.sets[0] == (0,)
    assert found.way[0, 0] == ALONE
    assert found.mean[0, 0] == pytest.approx(20, abs=1)
