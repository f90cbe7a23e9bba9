"""What the weighing of sets is given, for equations of a few columns."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fitcheck.advice.equation import equation
from fitcheck.advice.problem import BY_PAPER, FAR, LARGE, LARGE_SHARE, PAPER_SHARE, made_ready, share_sensible
from fitcheck.advice.rows import Knowledge
from fitcheck.core.fitting import FittingFacts


def test_a_prior_that_leaves_out_small_amounts() -> None:
    """Of a Gaussian with sd 8 about nothing, 0.3173 lies further out than 8; of its upper half alone half of that."""
    two = share_sensible(np.array([0.0]), np.array([8.0]), np.array([8.0]), np.array([False]))
    one = share_sensible(np.array([0.0]), np.array([8.0]), np.array([8.0]), np.array([True]))
    assert two == pytest.approx([0.3173], abs=1e-4)
    assert one == pytest.approx(two / 2)


def test_a_column_that_much_is_asked_for_stands_twice(table: Knowledge, measure) -> None:
    fit = equation([measure("waist_mark_above_back", 5), measure("waist_mark_above_front", 5)], table, FittingFacts())
    fit = replace(fit, does=fit.effects)
    quiet = made_ready(replace(fit, asked=np.zeros(len(fit.columns))))
    asked = np.zeros(len(fit.columns))
    asked[0] = 1.01 * FAR * fit.prior_sd[0]
    p = made_ready(replace(fit, asked=asked, alone=fit.effects))
    m = len(fit.columns)
    assert len(p.of) == m + 1
    assert p.of[m] == 0
    assert p.prior_sd[m] == pytest.approx(LARGE * fit.prior_sd[0])
    assert p.log_odds[m] - p.log_odds[0] == pytest.approx(math.log(LARGE_SHARE))
    assert p.pairs[0, m] == p.pairs[m, 0] == -np.inf
    assert len(quiet.of) == m


def test_a_column_that_explains_more_as_paper_does_stands_once_more(table: Knowledge, measure) -> None:
    """A back neck 12 mm low, a front neck 4.5 high: what 15 mm less of upper back does; a rounded figure shows no front neck."""
    fit = equation(
        [measure("back_neck_below", 12), measure("front_neck_below", -4.5), measure("neck_stand_off_back", -7)], table, FittingFacts()
    )
    p = made_ready(fit)
    at = [j for j, c in enumerate(fit.columns) if c.alteration.id == "rounded_erect_upper_back"]
    again = [j for j in range(len(p.of)) if p.way[j] == BY_PAPER and p.of[j] in at]
    assert len(again) == 1
    assert p.log_odds[again[0]] - p.log_odds[at[0]] == pytest.approx(math.log(PAPER_SHARE))
    assert p.pairs[again[0], at[0]] == -np.inf
    assert p.response[:, again[0]] == pytest.approx(np.linalg.solve(fit.noise, fit.does[:, at[0]]))


def test_a_difference_of_two_sides_stands_only_beside_what_they_share(table: Knowledge, measure) -> None:
    keys = ("shoulder_seam_behind_tip_L", "shoulder_seam_behind_tip_R")
    fit = equation([measure(key, 8) for key in keys], table, FittingFacts())
    p = made_ready(fit)
    for column, (left, right) in p.sides.items():
        both = p.needs[column, 0]
        names = [(fit.columns[j].alteration.id, fit.columns[j].side) for j in (both, left, right)]
        assert len({id for id, _ in names}) == 1
        assert [side for _, side in names] == ["both", "wearer_left", "wearer_right"]
    assert p.sides
