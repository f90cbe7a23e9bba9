"""The trunk's edges as handed on."""

import numpy as np

from fitcheck.core.outline import Outline


def test_doubted_edges_stay_where_they_are():
    edges = Outline(np.array([10.0, 11.0]), np.array([[5.0, 6.0], [9.0, np.nan]]), np.array([[0.5, 1.0], [0.25, np.nan]]))
    doubted = edges.doubted(2.0)
    np.testing.assert_array_equal(doubted.edges_px, edges.edges_px)
    np.testing.assert_array_equal(doubted.sds_px, [[1.0, 2.0], [0.5, np.nan]])
    assert edges.sds_px[0, 0] == 0.5


def test_above_a_row_edges_stay_and_below_none_is_left():
    edges = Outline(np.array([10.0, 11.0, 12.0]), np.array([[5.0, 6.0, 7.0], [9.0, 9.5, 9.0]]), np.ones((2, 3)))
    np.testing.assert_array_equal(edges.above(11.0).edges_px, [[5.0, 6.0, np.nan], [9.0, 9.5, np.nan]])
