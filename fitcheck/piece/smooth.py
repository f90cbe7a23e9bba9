"""Lines made smooth and joined: what is read at many places, some of them wrong, becomes one curve; curves meet in corners."""

from collections.abc import Sequence

import numpy as np
from scipy.linalg import solveh_banded

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats

ORDER = 3  # of the differences that are kept small: straight lines and even bends stay as they are
ROUNDS = 8
END_MM = 22.0  # of a curve, by which it is continued to a corner
LONGEST_CONTINUED_MM = 60.0  # nothing is known that far beyond a curve's end


def smoothed(values: Floats, weights: Floats, step_mm: float, wave_mm: float, usual_mm: float) -> Floats:
    """Values along a line without what is shorter than a wave, strays left out.

    Penalised least squares (Whittaker 1923) with weights renewed by how far each value lies off (Cauchy).

    Parameters
    ----------
    values, weights : ndarray, shape (N,)
        Weight 0 where nothing was read.
    step_mm : float
        Between them.
    wave_mm : float
        Half of a wave of this length is kept.
    usual_mm : float
        What values usually lie off.
    """
    stiff = (1 / (2 * np.sin(np.pi * step_mm / wave_mm))) ** (2 * ORDER)
    band = _penalty(len(values)) * stiff
    own = weights + 1e-9
    found = np.asarray(values, float)
    for _ in range(ROUNDS):
        total = band.copy()
        total[-1] += own
        found = solveh_banded(total, own * values)
        own = weights / (1 + ((values - found) / usual_mm) ** 2) + 1e-9
    return np.asarray(found)


def smooth_line(points: Floats, step_mm: float, wave_mm: float, usual_mm: float) -> Floats:
    """A line as even points without what is shorter than a wave; curves of a radius beyond a third of it stay as they are."""
    total = float(arc_length(points)[-1])
    count = max(6, round(total / step_mm) + 1)
    even = at_lengths(points, np.linspace(0, total, count))
    ones, wave = np.ones(count), min(wave_mm, 0.5 * total + 6)
    return np.column_stack([smoothed(column, ones, total / (count - 1), wave, usual_mm) for column in even.T])


def _penalty(count: int) -> Floats:
    """D'D of the third differences as an upper band, shape (ORDER + 1, count)."""
    difference = np.diff(np.eye(ORDER + 1), ORDER, axis=0)[0]
    band = np.zeros((ORDER + 1, count))
    for first in range(ORDER + 1):
        for second in range(first, ORDER + 1):
            product = difference[first] * difference[second]
            band[ORDER - (second - first), second : count - ORDER + second] += product
    return band


def meeting(one: Floats, two: Floats, end_mm: float = END_MM) -> Floats | None:
    """Where the end of one curve, continued, meets the beginning of another, shape (2,); None where they run past each other.

    Parameters
    ----------
    end_mm : float
        Of either, by which it is continued.
    """
    first, second = _continued(one[::-1], end_mm), _continued(two, end_mm)
    (bx, by), (dx, dy) = (np.diff(line, axis=0).T for line in (first, second))
    apart = second[None, :-1] - first[:-1, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        cross = bx[:, None] * dy - by[:, None] * dx
        t = (apart[..., 0] * dy - apart[..., 1] * dx) / cross
        u = (apart[..., 0] * by[:, None] - apart[..., 1] * bx[:, None]) / cross
    i, j = np.nonzero((t >= 0) & (t <= 1) & (u >= 0) & (u <= 1))
    if not len(i):
        return None
    places = first[i] + t[i, j][:, None] * np.column_stack([bx[i], by[i]])
    off = np.hypot(*(places - one[-1]).T) + np.hypot(*(places - two[0]).T)
    return np.asarray(places[int(np.argmin(off))])


def joined(one: Floats, two: Floats) -> tuple[Floats, Floats]:
    """Two curves brought to one corner: each is continued to it or cut back."""
    corner = meeting(one, two)
    if corner is None:
        corner = (one[-1] + two[0]) / 2
    return _to(one[::-1], corner)[::-1], _to(two, corner)


def cornered(edges: Sequence[Floats], again: Sequence[int] = ()) -> list[Floats]:
    """Edges of a closed line brought to their corners, but for those that go with the one before."""
    found = list(edges)
    for i in range(len(found)):
        if i not in again:
            found[i - 1], found[i] = joined(found[i - 1], found[i])
    return found


def _to(curve: Floats, corner: Floats) -> Floats:
    """A curve that begins at a corner on it, or on its continuation."""
    along = arc_length(curve)
    near = int(np.argmin(np.hypot(*(curve - corner).T)))
    way = curve[min(near + 1, len(curve) - 1)] - curve[max(near - 1, 0)]
    ahead = (curve - corner) @ way > 1e-6
    rest = curve[(np.arange(len(curve)) >= max(near - 1, 0)) & (ahead | (along > along[near] + END_MM))]
    return np.vstack([corner[None], rest if len(rest) else curve[-1:]])


def _continued(curve: Floats, end_mm: float) -> Floats:
    """The first stretch of a curve, and before it its own continuation by the parabola that fits it best; ordered outwards in."""
    along = arc_length(curve)
    part = curve[along <= max(end_mm, along[min(3, len(along) - 1)])]
    s = arc_length(part)
    bend = 2 if len(part) > 5 and s[-1] > 0.6 * end_mm else 1
    fits = [np.polynomial.Polynomial.fit(s, column, bend) for column in part.T]
    beyond = -np.linspace(LONGEST_CONTINUED_MM, 0.0, 61)
    straight = [np.polynomial.Polynomial.fit(s, column, 1) for column in part.T]
    # a parabola far beyond its data runs away: the bend fades out
    share = np.clip(1 + beyond / LONGEST_CONTINUED_MM, 0, 1)
    ahead = np.column_stack([share * fit(beyond) + (1 - share) * line(beyond) for fit, line in zip(fits, straight, strict=True)])
    inside = at_lengths(curve, np.arange(0.5, min(float(along[-1]), 2 * end_mm), 0.5))
    return np.vstack([ahead[:-1] - (ahead[-1] - curve[0]), curve[:1], inside])
