"""What is printed inside a piece: darts, grain line, notches, the bracket that says "place on the fold"."""

import math
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import outwards
from fitcheck.piece.size_lines import DASHES, Dash, dash_of

HOUGH_MM_PER_PX = 0.5
LEAST_LEG_MM, LONGEST_LEG_MM = 40.0, 220.0  # of a dart (common practice: 6 to 20 cm)
NARROWEST_DEG, WIDEST_DEG = 4.0, 42.0  # between its legs
AT_EDGE_MM = 9.0  # how near the outline a leg begins
APEX_MM = 5.0  # of both legs' ends
LEAST_GRAIN_MM = 60.0
FREE_MM = 9.0  # from either end of a grain line to the outline
BARB_MM, BARBS_DEG = 6.5, (12.0, 17.0, 22.0, 28.0, 34.0)  # of arrow heads
LEAST_BARBS = 0.30  # mean darkness of the best barbs at both ends
BEYOND_MM = (8.5, 11.5)  # where a notch has ended
NOTCH_MM = (1.8, 5.5)  # beneath the line, where a notch is looked for (common practice: 5 mm long)
NOTCH_WIDE_MM, NOTCH_DARK, NOTCH_ALONE = 1.6, 0.5, 0.3  # its width, its darkness, and that of what lies beside it
OFF_CORNER_MM = 10.0
BRACKET_MM = (5.0, 26.0)  # how far inside a fold its bracket runs
BRACKET_DARK, BRACKET_ENDS = 0.5, 0.4  # dark over the middle, and how much less so at the ends of the edge
FINE_MM = 0.7


def find_darts(ink: Ink, outline: Floats, dash: Dash | None, at_edge_mm: float = AT_EDGE_MM) -> tuple[Floats, ...]:
    """Darts as drawn: two straight legs from the outline to one point inside.

    Parameters
    ----------
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
    legs: list[tuple[Floats, Floats]] = []
    for one, two in _segments(ink, LEAST_LEG_MM * 0.6):
        far = [ring.distance(Point(*end)) for end in (one, two)]
        outer, inner = (one, two) if far[0] < far[1] else (two, one)
        if min(far) < at_edge_mm and max(far) > LEAST_LEG_MM * 0.5 and inside.contains(Point(*inner)):
            legs.append(_fitted(ink, outer, inner))
    found: list[tuple[float, Floats]] = []
    for i, first in enumerate(legs):
        for second in legs[i + 1 :]:
            dart = _dart(first, second, ring, at_edge_mm + 21.0)
            if dart is not None:
                found.append((_drawn(ink, dart, dash), dart))
    kept: list[Floats] = []
    for score, dart in sorted(found, key=lambda pair: -pair[0]):
        if score > 0.3 and all(float(np.hypot(*(dart[1] - other[1]))) > 25.0 for other in kept):
            kept.append(dart)
    return tuple(kept)


def _dart(one: tuple[Floats, Floats], two: tuple[Floats, Floats], ring: LineString, reach_mm: float) -> Floats | None:
    u, v = one[1] - one[0], two[1] - two[0]
    cross = float(u[0] * v[1] - u[1] * v[0])
    angle = math.degrees(math.atan2(abs(cross), float(u @ v)))
    if not NARROWEST_DEG < angle < WIDEST_DEG:
        return None
    w = two[0] - one[0]
    point = one[0] + u * float(w[0] * v[1] - w[1] * v[0]) / cross
    if max(np.hypot(*(point - one[1])), np.hypot(*(point - two[1]))) > 12.0:
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


def _drawn(ink: Ink, dart: Floats, dash: Dash | None) -> float:
    """How well a dart's legs are drawn, and drawn as the chosen size is."""
    score = []
    for end in (dart[0], dart[2]):
        spots = at_lengths(np.array([dart[1], end]), np.arange(2.0, float(np.hypot(*(end - dart[1]))) - 1, 0.25))
        aside = outwards(spots)
        seen = np.max([ink.at(spots + off * aside) for off in (-0.3, 0.0, 0.3)], axis=0)
        own = dash_of(seen > 0.4)
        score.append(float((seen > 0.4).mean()) + (0.6 if dash is not None and own == dash else 0.0))
    return min(score)


def find_grain(ink: Ink, outline: Floats) -> Floats | None:
    """The grain line: the longest straight line with arrow heads whose ends lie free of the outline, shape (2, 2)."""
    ring = LineString(np.vstack([outline, outline[:1]]))
    best: tuple[float, Floats] | None = None
    for one, two in _segments(ink, LEAST_GRAIN_MM):
        if min(ring.distance(Point(*end)) for end in (one, two)) < FREE_MM:
            continue
        one, two = _fitted(ink, one, two)
        heads = [_barbs(ink, end, other) for end, other in ((one, two), (two, one))]
        long = float(np.hypot(*(two - one)))
        score = long * (min(heads) + 0.5 * max(heads))
        if max(heads) > LEAST_BARBS and (best is None or score > best[0]):
            best = score, np.array([one, two])
    return None if best is None else best[1]


def _barbs(ink: Ink, end: Floats, other: Floats) -> float:
    way = (other - end) / np.hypot(*(other - end))
    reach = np.arange(2.5, BARB_MM, 0.3)
    best = 0.0
    for slip in np.arange(-2.0, 4.1, 1.0):
        for deg in BARBS_DEG:
            sides = []
            for sign in (1, -1):
                turn = math.radians(sign * deg)
                barb = np.array([way[0] * math.cos(turn) - way[1] * math.sin(turn), way[0] * math.sin(turn) + way[1] * math.cos(turn)])
                sides.append(float(ink.at(end + way * slip + reach[:, None] * barb).mean()))
            best = max(best, min(sides))
    return best


def find_notches(ink: Ink, edges: Sequence[Floats], darts: Sequence[Floats]) -> tuple[Floats, ...]:
    """Short lines square to the outline, each as its place on the outline, shape (2,)."""
    found: list[Floats] = []
    step = 0.25
    for edge in edges:
        total = float(arc_length(edge)[-1])
        if total < 3 * OFF_CORNER_MM:
            continue
        spots = at_lengths(edge, np.arange(OFF_CORNER_MM, total - OFF_CORNER_MM, step))
        inwards = -outwards(spots)
        depth = np.arange(*NOTCH_MM, 0.3)
        seen = ink.at(spots[:, None] + depth[:, None] * inwards[:, None])
        dark = np.percentile(seen, 30, axis=1)
        wide = round(NOTCH_WIDE_MM / step)
        beside = np.maximum(np.roll(dark, wide), np.roll(dark, -wide))
        beyond = ink.at(spots[:, None] + np.arange(*BEYOND_MM, 0.3)[:, None] * inwards[:, None]).mean(axis=1)
        good = (dark > NOTCH_DARK) & (beside < NOTCH_ALONE) & (beyond < NOTCH_ALONE)
        for run in np.split(np.flatnonzero(good), np.flatnonzero(np.diff(np.flatnonzero(good)) > wide) + 1):
            if len(run):
                place = spots[run[int(np.argmax(dark[run]))]]
                if all(float(np.hypot(*(place - end))) > OFF_CORNER_MM for dart in darts for end in (dart[0], dart[2])):
                    found.append(place)
    return tuple(found)


def find_fold(ink: Ink, edges: Sequence[Floats]) -> int | None:
    """Which edge lies on the fold, told by a bracket along its middle that does not reach its ends."""
    best: tuple[float, int] | None = None
    for i, edge in enumerate(edges):
        total = float(arc_length(edge)[-1])
        ends = edge[[0, -1]]
        bow = np.abs((edge - ends[0]) @ _across(ends)).max()
        if total < 120.0 or bow > 2.0:
            continue
        spots = at_lengths(edge, np.linspace(0, total, 121))
        inwards = -outwards(spots)
        depth = np.arange(BRACKET_MM[0], BRACKET_MM[1], 0.25)
        seen = ink.at(spots[:, None] + depth[:, None] * inwards[:, None])
        middle, rims = seen[45:76].mean(axis=0), seen[np.r_[10:18, 103:111]].mean(axis=0)
        score = float((middle - BRACKET_ENDS - rims).max())
        if float(middle.max()) > BRACKET_DARK and score > 0 and (best is None or score > best[0]):
            best = score, i
    return None if best is None else best[1]


def _across(ends: Floats) -> Floats:
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    return np.array([-way[1], way[0]])


def _segments(ink: Ink, least_mm: float) -> list[tuple[Floats, Floats]]:
    """Straight dark lines, dashed ones too, mm."""
    share = ink.picture.mm_per_px / HOUGH_MM_PER_PX
    small = cv2.resize(ink.dark, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    binary = (small > 0.22).astype(np.uint8)
    lines = cv2.HoughLinesP(binary, 1, np.pi / 720, 45, None, least_mm / HOUGH_MM_PER_PX, 4.0 / HOUGH_MM_PER_PX)
    if lines is None:
        return []
    found: list[tuple[Floats, Floats]] = []
    flat = lines.reshape(-1, 4).astype(float)
    for x0, y0, x1, y1 in flat[np.argsort(-np.hypot(flat[:, 2] - flat[:, 0], flat[:, 3] - flat[:, 1]))][:400]:
        ends = ink.picture.low + (np.array([[x0, y0], [x1, y1]]) + 0.5) * HOUGH_MM_PER_PX - 0.5 * ink.picture.mm_per_px
        if not any(_same(ends, other) for other in found):
            found.append((ends[0], ends[1]))
    return found


def _same(ends: Floats, other: tuple[Floats, Floats]) -> bool:
    across = _across(np.array(other))
    way = (other[1] - other[0]) / np.hypot(*(other[1] - other[0]))
    off = np.abs((ends - other[0]) @ across).max()
    on = (ends - other[0]) @ way
    return bool(off < 1.3 and on.min() > -6 and on.max() < np.hypot(*(other[1] - other[0])) + 6)


def _fitted(ink: Ink, one: Floats, two: Floats) -> tuple[Floats, Floats]:
    """The line through the darkest places near a segment, and how far it runs dark."""
    for _ in range(2):
        ends = np.array([one, two])
        across = _across(ends)
        t = np.linspace(0.04, 0.96, 60)
        spots = one + t[:, None] * (two - one)
        d = np.arange(-FINE_MM, FINE_MM + 0.01, 0.1)
        seen = ink.at(spots[:, None] + d[:, None] * across) ** 2
        mass = seen.sum(axis=1)
        off = (seen * d).sum(axis=1) / np.maximum(mass, 1e-6)
        weight = np.clip(mass / max(float(np.percentile(mass, 90)), 1e-6), 0, 1) + 1e-6
        slope, level = np.polyfit(t, off, 1, w=weight)
        one, two = one + across * level, two + across * (level + slope)
    way = (two - one) / np.hypot(*(two - one))
    reach = np.arange(-12.0, float(np.hypot(*(two - one))) + 12.0, 0.25)
    dark: NDArray[np.bool_] = (
        np.max([ink.at(one + reach[:, None] * way + off * np.array([-way[1], way[0]])) for off in (-0.25, 0.0, 0.25)], axis=0) > 0.35
    )
    hit = np.flatnonzero(dark)
    if len(hit) < 8:
        return one, two
    # the stretch around the segment's middle without a gap wider than dashes leave
    middle = len(reach) // 2
    low = high = int(hit[np.argmin(np.abs(hit - middle))])
    gap = round(4.5 / 0.25)
    for k in hit[hit > high]:
        if k - high > gap:
            break
        high = int(k)
    for k in hit[hit < low][::-1]:
        if low - k > gap:
            break
        low = int(k)
    return one + reach[low] * way, one + reach[high] * way


def known_dash(word: str) -> Dash | None:
    """The kind of dashes a word names."""
    return next((dash for dash in DASHES if dash == word), None)
