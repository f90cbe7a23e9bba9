"""Darts as drawn: two straight legs from the outline to one point inside."""

import math
from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point, Polygon

from fitcheck.core.polyline import at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.dashes import Dash, dash_of
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import outwards

LEAST_LEG_MM, LONGEST_LEG_MM = 40.0, 220.0  # of a dart (common practice: 6 to 20 cm)
NARROWEST_DEG, WIDEST_DEG = 4.0, 42.0  # between its legs
AT_EDGE_MM = 9.0  # how near the outline a leg begins
COVERED_MM = 35.0  # from the outline, where a finger on the edge hides the end of the other leg
APEX_MM = 12.0  # from the point, where both legs end
LEAST_DRAWN = 0.3  # of both legs' length
APART_MM = 25.0  # of two darts' points
STEP_MM = 0.25


def find_darts(
    ink: Ink, lines: Sequence[tuple[Floats, Floats]], outline: Floats, dash: Dash | None, at_edge_mm: float = AT_EDGE_MM
) -> tuple[Floats, ...]:
    """Darts as drawn.

    Parameters
    ----------
    lines : sequence of (ndarray, ndarray), shape (2,)
        Both ends of each straight line.
    outline : ndarray, shape (N, 2)
        Closed, of the chosen size.
    dash : Dash or None
        How the chosen size's lines are dashed; with several darts beside each other the one dashed so is taken.
    at_edge_mm : float
        How near the outline legs begin.

    Returns
    -------
    tuple of ndarray, shape (3, 2)
        Leg end on the outline, point, leg end, in the outline's order.
    """
    ring, inside = LineString(np.vstack([outline, outline[:1]])), Polygon(outline)
    legs: list[tuple[Floats, Floats, float]] = []
    for one, two in lines:
        far = [ring.distance(Point(*end)) for end in (one, two)]
        outer, inner = (one, two) if far[0] < far[1] else (two, one)
        if min(far) < max(at_edge_mm, COVERED_MM) and max(far) > LEAST_LEG_MM * 0.5 and inside.contains(Point(*inner)):
            legs.append((outer, inner, min(far)))
    found: list[tuple[tuple[int, float], Floats]] = []
    for i, (*first, off) in enumerate(legs):
        for *second, other_off in legs[i + 1 :]:
            if min(off, other_off) < at_edge_mm:
                dart = _dart(first, second, ring, max(at_edge_mm, COVERED_MM) + 21.0)
                score = None if dart is None else _drawn(ink, dart, dash)
                if dart is not None and score is not None and score[1] > LEAST_DRAWN:
                    found.append((score, dart))
    kept: list[Floats] = []
    for _, dart in sorted(found, key=lambda pair: pair[0], reverse=True):
        if all(float(np.hypot(*(dart[1] - other[1]))) > APART_MM for other in kept):
            kept.append(dart)
    return tuple(kept)


def _dart(one: Sequence[Floats], two: Sequence[Floats], ring: LineString, reach_mm: float) -> Floats | None:
    u, v = one[1] - one[0], two[1] - two[0]
    cross = float(u[0] * v[1] - u[1] * v[0])
    angle = math.degrees(math.atan2(abs(cross), float(u @ v)))
    if not NARROWEST_DEG < angle < WIDEST_DEG:
        return None
    w = two[0] - one[0]
    point = one[0] + u * float(w[0] * v[1] - w[1] * v[0]) / cross
    if max(np.hypot(*(point - one[1])), np.hypot(*(point - two[1]))) > APEX_MM:
        return None
    ends = []
    for start, way in ((one[0], -u), (two[0], -v)):
        unit = way / np.hypot(*way)
        crossed = ring.intersection(LineString([point, start + unit * reach_mm]))
        if crossed.is_empty:
            return None
        places = [np.array(p.coords[0]) for p in getattr(crossed, "geoms", [crossed]) if p.geom_type == "Point"]
        if not places:
            return None
        far = [float(np.hypot(*(place - start))) for place in places]
        ends.append(places[int(np.argmin(far))])
    longest = [float(np.hypot(*(end - point))) for end in ends]
    if not LEAST_LEG_MM < min(longest) <= max(longest) < LONGEST_LEG_MM + reach_mm or abs(longest[0] - longest[1]) > 0.25 * max(longest):
        return None
    along = [ring.project(Point(*end)) for end in ends]
    first = 0 if (along[1] - along[0]) % ring.length < ring.length / 2 else 1
    return np.array([ends[first], point, ends[1 - first]])


def _drawn(ink: Ink, dart: Floats, dash: Dash | None) -> tuple[int, float]:
    """How many of a dart's legs are dashed as the chosen size is, and of what share of its length the worse one is drawn."""
    shares, alike = [], 0
    for end in (dart[0], dart[2]):
        spots = at_lengths(np.array([dart[1], end]), np.arange(2.0, float(np.hypot(*(end - dart[1]))) - 1, STEP_MM))
        aside = outwards(spots)
        seen = np.max([ink.at(spots + off * aside) for off in (-0.3, 0.0, 0.3)], axis=0) > 0.4
        shares.append(float(seen.mean()))
        alike += dash is not None and dash_of(seen) == dash
    return alike, min(shares)
