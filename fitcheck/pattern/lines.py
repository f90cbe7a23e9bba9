"""What can be done to one line on paper: turn it, take a part of it, let one end follow."""

import math
from collections.abc import Callable

import numpy as np
from shapely import LineString, Point, affinity, get_coordinates
from shapely.ops import substring

from fitcheck.core.records import Floats

CURVE_STEPS = 16


def line(*points: tuple[float, float]) -> Floats:
    """A polyline through points."""
    return np.array(points, dtype=float)


def curve(start: Floats, control: Floats, end: Floats) -> Floats:
    """A quadratic Bezier curve as a polyline, shape (CURVE_STEPS + 1, 2)."""
    t = np.linspace(0, 1, CURVE_STEPS + 1)[:, None]
    bent: Floats = (1 - t) ** 2 * start + 2 * t * (1 - t) * control + t**2 * end
    return bent


def path_length(points: Floats) -> float:
    """Length of a polyline."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def steps_along(points: Floats) -> Floats:
    """How far along the polyline each point lies, from 0 to 1, shape (N,)."""
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    share: Floats = steps / steps[-1]
    return share


def rotated(points: Floats, angle: float, about: Floats) -> Floats:
    """Turned by radians; x towards y, on paper (y points down) clockwise, for positive angles."""
    if len(points) == 0:
        return points
    shape = affinity.rotate(LineString(np.vstack([points, points[-1:]])), angle, origin=tuple(about), use_radians=True)
    turned: Floats = np.array(shape.coords)[:-1]
    return turned


def part(points: Floats, start: float, end: float) -> Floats:
    """Of a polyline, between two lengths along it."""
    found: Floats = np.array(substring(LineString(points), start, end).coords)
    return found


def point_at(points: Floats, along: float) -> Floats:
    """The point of a polyline at a length along it, shape (2,)."""
    found: Floats = np.array(LineString(points).interpolate(along).coords[0])
    return found


def nearest_along(points: Floats, place: Floats) -> float:
    """The length along a polyline at which it comes nearest to a place."""
    return float(LineString(points).project(Point(*place)))


def at_x(points: Floats, x: float) -> float:
    """The length along a polyline at which it first crosses an upright line; where it does not, the end that is nearer."""
    crossed = LineString(points).intersection(LineString([(x, -9e4), (x, 9e4)]))
    if crossed.is_empty:
        return 0.0 if abs(points[0, 0] - x) < abs(points[-1, 0] - x) else path_length(points)
    return float(min(LineString(points).project(Point(place)) for place in get_coordinates(crossed)))


def turn_between(one: Floats, two: Floats) -> float:
    """Radians by which the first direction is turned into the second, signed as for `rotated`."""
    return math.atan2(float(one[0] * two[1] - one[1] * two[0]), float(one @ two))


def dense(points: Floats, step: float = 12.0) -> Floats:
    """The same line with points at least so close."""
    found: Floats = np.array(LineString(points).segmentize(step).coords)
    return found


def smoothed(points: Floats, place: Floats, reach: float = 45.0) -> Floats:
    """A bend rounded off: points within reach of a place are drawn to the middle of their neighbours, over and over; the ends stay.

    The further from the place, the less: all the way alike, the line would flatten up to the edge of the reach and have a corner there.
    """
    found = dense(points, 6.0)
    share = np.clip(1 - np.hypot(*(found - place).T) / reach, 0.0, 1.0)[1:-1, None]
    for _ in range(25):
        middle = (found[:-2] + found[2:]) / 2
        found[1:-1] += share * (middle - found[1:-1]) / 2
    return found


def unit(vector: Floats) -> Floats:
    """Of length 1."""
    found: Floats = vector / np.hypot(*vector)
    return found


def drag(points: Floats, by: Floats, at: int = 0) -> Floats:
    """One end (0 or -1) moves, the other stays, and what lies between follows smoothly."""
    share = 1 - steps_along(points) if at == 0 else steps_along(points)
    dragged: Floats = points + np.outer(share**2 if len(points) > 2 else share, by)
    return dragged


def stretched(points: Floats, length: float, at: int = -1) -> Floats:
    """One end moved on along its own direction, or cut back along the line, until it has this length."""
    if at == 0:
        return stretched(points[::-1], length)[::-1]
    more = length - path_length(points)
    if more < 0:
        return part(points, 0, length)
    return np.vstack([points[:-1], points[-1:] + unit(points[-1] - points[-2]) * more])


def solve(excess: Callable[[float], float]) -> float:
    """The smallest change for which the excess is nothing, to a millionth: secants that keep it between them (Illinois method)."""
    if abs(excess(0.0)) < 1e-9:
        return 0.0
    reach = 0.05
    while (below := excess(-reach)) * (above := excess(reach)) > 0:
        if reach >= 500:
            raise ValueError("no change makes up for the excess")
        reach *= 1.3
    low, high, before, found = -reach, reach, -reach, reach
    while abs(found - before) > 1e-6:
        before, found = found, (low * above - high * below) / (above - below)
        left = excess(found)
        if left * above < 0:
            low, below, high, above = high, above, found, left  # the new end is always the second
        else:
            high, above, below = found, left, below / 2  # on the same side again: the other end is drawn nearer
    return found
