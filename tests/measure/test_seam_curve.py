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


def test_two_pieces_that_meet_under_a_sticker_make_a_corner():
    """Front and back waist rise by 1 in 10 towards the side seam at row 100. Under a sticker from 70 to 130 the line goes on to 20 there,
    where a straight bridge stays at 17; at row 90 it has come to 19."""
    rows = np.array([*range(40, 71, 2), *range(130, 161, 2)], float)
    line = np.column_stack([20 - 0.1 * abs(rows - 100), rows])
    smooth, _, _ = at_row(line, 100.0)
    met, gap, sd = at_row(line, 100.0, corner=True)
    assert (met, gap) == (pytest.approx(20.0), pytest.approx(60.0))
    assert 17.0 < smooth < 19.0
    assert sd > 0.4 * (met - smooth)
    assert at_row(line, 90.0, corner=True)[0] == pytest.approx(19.0)


def test_pieces_that_do_not_meet_under_the_sticker_are_bridged_smoothly():
    rows = np.array([*range(40, 71, 2), *range(130, 161, 2)], float)
    line = np.column_stack([0.1 * rows + (rows > 100), rows])
    assert at_row(line, 100.0, corner=True) == at_row(line, 100.0)
