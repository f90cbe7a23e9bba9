"""Polylines by the length along them."""

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats

Number = TypeVar("Number", bound=np.floating[Any])
NO_LENGTH = 1e-9  # a vector shorter than this has no direction


def arc_length(points: Floats) -> Floats:
    """How far along the polyline each point lies, in the points' unit, from 0, shape (N,).

    Parameters
    ----------
    points : ndarray, shape (N, D)

    >>> arc_length(np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 5.0]])).tolist()
    [0.0, 5.0, 6.0]
    """
    along = np.zeros(len(points))
    np.cumsum(np.hypot.reduce(points[1:] - points[:-1], axis=1), out=along[1:])
    return along


def at_lengths(points: Floats, along: Floats) -> Floats:
    """The points of the polyline at these lengths along it, shape (M, D); beyond an end, that end.

    Parameters
    ----------
    points : ndarray, shape (N, D)
    along : ndarray, shape (M,)
    """
    return _at(points, arc_length(points), along)


def resampled(points: Floats, count: int) -> Floats:
    """The polyline again as `count` points evenly along it, both ends kept, shape (count, D)."""
    own = arc_length(points)
    return _at(points, own, np.linspace(0.0, own[-1], count))


def _at(points: Floats, own: Floats, along: Floats) -> Floats:
    """As `at_lengths`, where it is known how far along each point lies."""
    found = np.empty((len(along), points.shape[1]))
    for i, column in enumerate(points.T):
        found[:, i] = np.interp(along, own, column)
    return found


def length(points: Floats) -> float:
    """Of the whole polyline, shape (N, 2), in the points' unit."""
    steps = points[1:] - points[:-1]
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def unit(vectors: NDArray[Number]) -> NDArray[Number]:
    """Vectors, shape (N, 2), as long as 1; those without a direction stay as short as they are."""
    sizes = np.hypot(vectors[:, 0], vectors[:, 1])[:, None]
    return np.asarray(vectors / np.maximum(sizes, vectors.dtype.type(NO_LENGTH)))


def continued(values: NDArray[Number], count: int) -> NDArray[Number]:
    """Rows, shape (N, ...), and `count` < N more at both ends, each the end turned about its last row: means then keep straight ends."""
    before, after = 2 * values[:1] - values[count:0:-1], 2 * values[-1:] - values[-2 : -count - 2 : -1]
    return np.concatenate([before, values, after])
