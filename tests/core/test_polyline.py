"""Lengths along polylines, by hand."""

import numpy as np
import pytest

from fitcheck.core.polyline import arc_length, at_lengths, continued, length, resampled, unit

CORNER = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 9.0]])  # 5 aslant, then 5 straight


def test_lengths_along_a_corner():
    assert arc_length(CORNER) == pytest.approx([0, 5, 10])
    assert arc_length(np.array([[0.0, 0, 0], [2.0, 3, 6]])) == pytest.approx([0, 7])


def test_points_at_lengths_lie_on_the_line_and_stop_at_its_ends():
    found = at_lengths(CORNER, np.array([-1.0, 2.5, 7.0, 99.0]))
    assert found == pytest.approx(np.array([[0, 0], [1.5, 2], [3, 6], [3, 9]]))


def test_evenly_resampled_keeps_both_ends():
    assert resampled(CORNER, 5) == pytest.approx(np.array([[0, 0], [1.5, 2], [3, 4], [3, 6.5], [3, 9]]))


def test_length_of_the_whole():
    assert length(CORNER) == pytest.approx(10)
    assert length(CORNER[:1]) == 0


def test_unit_vectors():
    assert unit(np.array([[3.0, -4.0], [0.0, 2.0], [0.0, 0.0]])) == pytest.approx(np.array([[0.6, -0.8], [0, 1], [0, 0]]))
    assert unit(np.array([[3.0, 4.0]], np.float32)).dtype == np.float32


def test_a_line_continued_beyond_its_ends_goes_on_straight_and_bends_back_as_it_came():
    assert continued(np.array([1.0, 2.0, 4.0]), 2).tolist() == [-2, 0, 1, 2, 4, 6, 7]
    assert continued(np.array([[0.0, 0], [1, 2], [2, 4]]), 1).tolist() == [[-1, -2], [0, 0], [1, 2], [2, 4], [3, 6]]
