"""Seam lines as curves: crossings and bridged stickers, checked by hand on drawn curves."""

import numpy as np
import pytest

from fitcheck.measure.seam_curve import at_row


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
