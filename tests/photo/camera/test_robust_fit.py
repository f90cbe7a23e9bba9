"""Robust least squares against a hand-made case and against scipy's."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from fitcheck.photo.camera.robust_fit import ROBUST_FROM_SD, robust_fit


def test_a_line_through_points_on_it_with_a_stray_stays_on_it():
    x, y = np.arange(11.0), 2 * np.arange(11.0) + 1
    y[5] += 500

    def rows(line):
        return (line[0] * x + line[1] - y) / 0.1, np.column_stack([x, np.ones(11)]) / 0.1

    found = robust_fit(rows, np.array([0.0, 0.0]))
    assert found.x == pytest.approx([2.0, 1.0], abs=0.05)
    assert np.sqrt(np.linalg.inv(found.normal)[0, 0]) == pytest.approx(0.1 / np.sqrt(110), rel=0.01)  # sd of a slope over 0, 1, ... 10


def test_the_answer_is_that_of_scipy_where_the_model_bends():
    t = np.linspace(0, 2, 40)
    seen = 3 * np.exp(-1.7 * t) + 0.2 + 0.01 * np.random.default_rng(2).standard_normal(40)
    seen[[3, 20]] += [0.5, -0.3]

    def residuals(p):
        return (p[0] * np.exp(-p[1] * t) + p[2] - seen) / 0.01

    def slopes(p):
        return np.column_stack([np.exp(-p[1] * t), -p[0] * t * np.exp(-p[1] * t), np.ones_like(t)]) / 0.01

    ours = robust_fit(lambda p: (residuals(p), slopes(p)), np.array([1.0, 1.0, 0.0]))
    theirs = least_squares(residuals, [1.0, 1.0, 0.0], slopes, loss="soft_l1", f_scale=ROBUST_FROM_SD, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    assert ours.x == pytest.approx(theirs.x, rel=1e-6)
    assert ours.cost == pytest.approx(theirs.cost, rel=1e-9)
    np.testing.assert_allclose(ours.normal, theirs.jac.T @ theirs.jac, rtol=1e-4)


def test_a_step_so_far_that_numbers_run_over_is_taken_back():
    """Of exp(x) = 1 begun at -7 the first full step leads to x = 1000."""

    def rows(unknowns):
        grown = math.exp(unknowns[0])
        return np.array([grown - 1]), np.array([[grown]])

    assert robust_fit(rows, np.array([-7.0])).x == pytest.approx([0.0], abs=1e-3)
