"""How much rows count: a hand's count of what is near, half off and far off."""

import numpy as np
import pytest

from fitcheck.body.parameters import Rows
from fitcheck.body.wild import HUBER, MISFIT_EACH, MOST_STRAIN, REDESCEND, capped, doubted, huber, strain, weighted


def test_what_is_near_counts_whole_and_four_times_as_far_half():
    """The root of the weight: squared, a row four times as far off pulls no harder than one at the limit."""
    assert huber(np.array([0.0, -HUBER, 4 * HUBER])) == pytest.approx([1, 1, 0.5])


def test_doubt_goes_on_growing():
    assert doubted(np.array([0.0, REDESCEND, -3 * REDESCEND])) == pytest.approx([1, 1 / 2, 1 / 10])


def test_a_wild_row_adds_no_more_than_the_cap():
    """One sd adds nearly 1, the cap's distance half of its square, a hundred sds the whole of it."""
    assert capped(np.array([REDESCEND])) == pytest.approx(REDESCEND**2 / 2)
    assert capped(np.array([1000.0])) == pytest.approx(REDESCEND**2, rel=1e-3)


def test_weights_go_on_both_sides_of_a_row():
    rows = weighted(Rows(np.array([4]), np.array([[2.0], [3.0]]), np.array([5.0, 7.0])), np.array([1.0, 0.5]))
    assert rows.jacobian.tolist() == [[2.0], [1.5]]
    assert rows.residuals.tolist() == [5.0, 3.5]


def test_doubts_grow_with_the_root_of_a_misfit_beyond_the_usual():
    assert strain(0.2 * 300, 300) == 1  # agreeing better than usual makes nobody surer
    assert strain(MISFIT_EACH * 300, 300) == pytest.approx(1)
    assert strain(2.25 * MISFIT_EACH * 300, 300) == pytest.approx(1.5)
    assert strain(1e9, 300) == MOST_STRAIN
