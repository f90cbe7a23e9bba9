"""Polylines by the length along them."""

import numpy as np

from fitcheck.core.records import Floats


def arc_length(points: Floats) -> Floats:
    """How far along the polyline each point lies, in the points' unit, from 0, shape (N,).

    Parameters
    ----------
    points : ndarray, shape (N, D)

    >>> arc_length(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 5.0]])).tolist()
    [0.0, 5.0, 6.0]
    """
    return np.asarray(np.r_[0.0, np.cumsum(np.hypot.reduce(np.diff(points, axis=0), axis=1))])


def at_lengths(points: Floats, along: Floats) -> Floats:
    """The points of the polyline at these lengths along it, shape (M, D); beyond an end, that end.

    Parameters
    ----------
    points : ndarray, shape (N, D)
    along : ndarray, shape (M,)
    """
    own = arc_length(points)
    return np.stack([np.interp(along, own, column) for column in points.T], axis=1)


def resampled(points: Floats, count: int) -> Floats:
    """The polyline again as `count` points evenly along it, both ends kept, shape (count, D)."""
    return at_lengths(points, np.linspace(0.0, arc_length(points)[-1], count))
