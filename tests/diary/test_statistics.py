"""Against scipy, and against worked examples."""

import math

import numpy as np
import pytest
from scipy import stats

from fitcheck.diary.statistics import Z95, mdc95, t_quantile, technical_error, theil_sen

# Table 1 of Bland & Altman 1986: first and second reading, l/min
PEAK_FLOW = {
    "large": list(
        zip(
            (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427),
            (490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421),
            strict=True,
        )
    ),
    "small": list(
        zip(
            (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451),
            (525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443),
            strict=True,
        )
    ),
}


@pytest.mark.parametrize("n", [2, 3, 4, 5, 8, 20, 60])
@pytest.mark.parametrize("ties", [False, True])
def test_theil_sen_is_scipys(n, ties):
    rng = np.random.default_rng(n)
    for _ in range(20):
        x = np.sort(rng.integers(0, 2 * n, n).astype(float)) if ties else np.sort(rng.uniform(0, 3, n))
        if len(np.unique(x)) < 2:
            continue
        y = np.round(2 * x + rng.normal(0, 2, n), 0 if ties else 6)
        expected = stats.theilslopes(y, x, alpha=0.95)
        slope, low, high = theil_sen(y, x)
        assert slope == pytest.approx(expected.slope)
        # scipy gives no interval where there are too few points; ours is then as wide as the slopes
        if not math.isnan(expected.low_slope):
            assert (low, high) == pytest.approx((expected.low_slope, expected.high_slope))


def test_one_wild_day_does_not_move_the_line():
    x = np.arange(9.0)
    y = 3 * x
    y[4] = 500
    assert theil_sen(y, x)[0] == pytest.approx(3, abs=0.2)


def test_t_quantile_is_scipys():
    for df in (5, 10, 12, 20, 60, math.inf):
        for p in (0.9, 0.975, 0.99844, 0.9997):
            exact = stats.norm.ppf(p) if df == math.inf else stats.t.ppf(p, df)
            # the expansion is good where it is used: ten degrees of freedom and more
            assert t_quantile(p, df) == pytest.approx(exact, rel=0.08 if df < 10 else 0.008)


def test_smallest_detectable_change_of_a_published_study():
    """Craniovertebral angle: the published MDC of 1.3 to 1.7 degrees (PMC10558335, read as an excerpt) is that of SEM 0.47 to 0.61."""
    assert mdc95(0.47) == pytest.approx(1.3, abs=0.01)
    assert mdc95(0.613) == pytest.approx(1.7, abs=0.01)


@pytest.mark.parametrize(("meter", "published"), [("large", 43.2), ("small", 56.4)])
def test_technical_error_and_mdc_of_a_published_worked_example(meter, published):
    """Bland & Altman, Lancet 1986, 327:307: 17 people blew twice into each of two flow meters; the paper works out coefficients of
    repeatability of 43.2 and 56.4 l/min, which are twice the root mean square difference where we take 1.96 times (from memory)."""
    assert 2 / 1.96 * mdc95(technical_error(PEAK_FLOW[meter])[0]) == pytest.approx(published, abs=0.15)


def test_the_worked_example_is_the_papers():
    """Its other published figures come out of the same numbers: large less small, first readings, -2.1 with a deviation of 38.8 l/min."""
    apart = [large - small for (large, _), (small, _) in zip(PEAK_FLOW["large"], PEAK_FLOW["small"], strict=True)]
    assert np.mean(apart) == pytest.approx(-2.1, abs=0.05)
    assert np.std(apart, ddof=1) == pytest.approx(38.8, abs=0.05)


def test_technical_error_of_pairs_is_dahlbergs():
    """sqrt(sum d^2 / 2N): pairs differing by 1, 2, 2, 1 mm give sqrt(10 / 8) = 1.118 mm."""
    pairs = [(10.0, 11.0), (20.0, 18.0), (5.0, 7.0), (8.0, 7.0)]
    assert technical_error(pairs) == (pytest.approx(math.sqrt(10 / 8)), 4)


def test_technical_error_of_sets_is_the_anova_within():
    """Of any sets: the mean square within groups, here by scipy's F = between / within."""
    rng = np.random.default_rng(4)
    sets = [rng.normal(k, 1.0, 3) for k in range(6)]
    error, free = technical_error([list(one) for one in sets])
    between = 3 * np.var([one.mean() for one in sets], ddof=1)
    assert free == 12
    assert between / error**2 == pytest.approx(stats.f_oneway(*sets).statistic)
    assert technical_error([(1.0,)])[1] == 0


def test_the_normal_quantile():
    assert pytest.approx(stats.norm.ppf(0.975)) == Z95
