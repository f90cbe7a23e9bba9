"""Seam lines as curves: crossings and bridged stickers, checked by hand on drawn curves."""

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline

from fitcheck.measure.seam_curve import _hermite, at_row, upright_part


def test_crossing_of_a_straight_line():
    line = np.array([[10.0, 0.0], [20.0, 5.0], [30.0, 10.0]])
    assert at_row(line, 2.5) == pytest.approx((15.0, np.hypot(10, 5), np.hypot(10, 5) * 0.05 / 6 if np.hypot(10, 5) > 8 else 0.0), abs=0.1)
    assert at_row(line, 11.0) is None


def test_a_hidden_stretch_is_bridged_along_the_curve_not_across_it():
    y = np.arange(0.0, 200.0, 2.0)
    x = 500 + 20 * np.sin(y / 60)
    seen = (y < 80) | (y > 112)
    curve = np.column_stack([x, y])[seen]
    found, gap, sd = at_row(curve, 96.0)
    truth = 500 + 20 * np.sin(96 / 60)
    straight = np.interp(96.0, curve[:, 1], curve[:, 0])
    assert gap > 30
    assert abs(found - truth) < 0.4 < abs(straight - truth)
    assert sd > abs(found - truth)


def test_the_end_of_a_side_seam_that_turns_into_the_waist_line_is_left_out():
    y = np.arange(0.0, 150.0)
    seam = np.column_stack([300 + 0.1 * y, y])
    turned = np.vstack([seam, np.column_stack([315 + np.arange(1.0, 40), 150 + 0.5 * np.arange(1.0, 40)])])
    kept = upright_part(turned)
    assert 140 < len(kept) < 160
    assert np.allclose(kept[:140], seam[:140])
    assert np.array_equal(upright_part(seam), seam)
    level = seam[:, ::-1]
    assert np.array_equal(upright_part(level), level), "nothing left of it"


def test_the_bridge_is_the_cubic_of_a_reference():
    spline = CubicHermiteSpline([3.0, 11.0], [5.0, -2.0], [0.7, -1.3])
    for row in (3.0, 4.5, 8.0, 11.0):
        assert _hermite((row - 3) / 8, 8.0, (5.0, -2.0), (0.7, -1.3)) == pytest.approx(float(spline(row)), abs=1e-12)
