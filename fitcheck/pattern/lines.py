"""What can be done to one line on paper: turn it, take a part of it, let one end follow."""

from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq
from shapely import LineString, affinity
from shapely.ops import substring

from fitcheck.core.records import Floats


def rotated(points: Floats, angle: float, about: Floats) -> Floats:
    """Turned clockwise on paper for negative angles (y points down), in radians."""
    if len(points) == 0:
        return points
    shape = affinity.rotate(LineString(np.vstack([points, points[-1:]])), angle, origin=tuple(about), use_radians=True)
    turned: Floats = np.array(shape.coords)[:-1]
    return turned


def part(points: Floats, start: float, end: float) -> Floats:
    """Of a polyline, between two lengths along it."""
    part: Floats = np.array(substring(LineString(points), start, end).coords)
    return part


def drag(points: Floats, by: Floats) -> Floats:
    """The first point moves, the last stays, and what lies between follows smoothly."""
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    share = (1 - steps / steps[-1]) ** 2 if len(points) > 2 else 1 - steps / steps[-1]
    dragged: Floats = points + np.outer(share, by)
    return dragged


def solve(excess: Callable[[float], float]) -> float:
    """The smallest change for which the excess is nothing."""
    if abs(excess(0.0)) < 1e-9:
        return 0.0
    reach = 1.0
    while excess(-reach) * excess(reach) > 0 and reach < 500:
        reach *= 1.3
    found: float = brentq(excess, -reach, reach, xtol=1e-6)
    return found
