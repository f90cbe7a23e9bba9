"""Lengths along polylines, by hand."""

import numpy as np
import pytest

from fitcheck.core.polyline import arc_length, at_lengths, resampled

CORNER = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 9.0]])  # 5 aslant, then 5 straight


def test_lengths_along_a_corner():
    assert arc_length(CORNER) == pytest.approx([0, 5, 10])
    assert arc_length(np.array([[0.0, 0, 0], [2.0, 3, 6]])) == pytest.approx([0, 7])


def test_points_at_lengths_lie_on_the_line_and_stop_at_its_ends():
    found = at_lengths(CORNER, np.array([-1.0, 2.5, 7.0, 99.0]))
    assert found == pytest.approx(np.array([[0, 0], [1.5, 2], [3, 6], [3, 9]]))


def test_evenly_resampled_keeps_both_ends():
    assert resampled(CORNER, 5) == pytest.approx(np.array([[0, 0], [1.5, 2], [3, 4], [3, 6.5], [3, 9]]))
