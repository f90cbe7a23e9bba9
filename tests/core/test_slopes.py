"""Slopes between points, by hand."""

import numpy as np

from fitcheck.core.slopes import slopes


def test_every_pair_has_its_slope_and_pairs_of_one_x_have_none():
    """Points (0, 0), (1, 2), (2, 0) and (2, 6): slopes 2, 0, 3, -2, 4, and none between the last two."""
    assert slopes(np.array([0.0, 2.0, 0.0, 6.0]), np.array([0.0, 1.0, 2.0, 2.0])).tolist() == [-2, 0, 2, 3, 4]


def test_the_order_of_the_points_does_not_matter():
    x, y = np.array([3.0, 1.0, 2.0]), np.array([30.0, 10.0, 20.0])
    assert slopes(y, x).tolist() == [10, 10, 10]
