"""The mouth of a dart on the outline: where its legs end the edge is parted, and between them it juts out so that it folds flush."""

from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import refined
from fitcheck.piece.smooth import joined
from fitcheck.piece.table import Table

SEARCH_MM = 2.5
HIGHEST_MM, DEEPEST_MM = 26.0, -8.0  # of a peak beyond the chord, which may lie inside it (estimate: a wide dart at 45 degrees)
LEAST_DARK = 0.45  # mean along a printed mouth
ON_EDGE_MM = 3.0
MOST_CORNERS = 3  # of a mouth: both legs' and its peak
LEAST_EDGE_MM = 14.0  # before and after a mouth


def with_mouths(edges: Sequence[Floats], darts: Sequence[Floats], table: Table, ink: Ink | None) -> tuple[list[Floats], list[int]]:
    """The edges parted at the darts' legs.

    Parameters
    ----------
    darts : sequence of ndarray, shape (3, 2)
        Leg end, point, leg end, ends on the outline in its order.
    ink : Ink or None
        Where the cutting line is printed; None where it is the paper's edge.

    Returns
    -------
    list of ndarray, list of int
        The edges in order, and which of them are mouths (three points each).
    """
    parts: list[tuple[Floats, bool]] = [(edge, False) for edge in edges]
    for dart in darts:
        parts = _with_legs_on_one(parts, dart)
        for i, (edge, mouth) in enumerate(parts):
            path = LineString(edge)
            places = [path.project(Point(*dart[k])) for k in (0, 2)]
            far = [path.distance(Point(*dart[k])) for k in (0, 2)]
            if mouth or max(far) > ON_EDGE_MM or not LEAST_EDGE_MM < places[0] < places[1] < path.length - LEAST_EDGE_MM:
                continue
            parts[i : i + 1] = _parted(edge, places, dart, table, ink)
            break
    return [part for part, _ in parts], [i for i, (_, mouth) in enumerate(parts) if mouth]


def _with_legs_on_one(parts: list[tuple[Floats, bool]], dart: Floats) -> list[tuple[Floats, bool]]:
    """Edges joined to one where corners between them are those of a dart's mouth, or so near its legs that they must be."""
    count, paths = len(parts), [LineString(edge) for edge, _ in parts]
    far = [[path.distance(Point(*dart[end])) for path in paths] for end in (0, 2)]
    a, b = (int(np.argmin(one)) for one in far)
    if far[0][a] > ON_EDGE_MM or far[1][b] > ON_EDGE_MM or (b - a) % count > MOST_CORNERS:
        return parts
    index = [(a + k) % count for k in range((b - a) % count + 1)]
    if paths[index[0]].project(Point(*dart[0])) < LEAST_EDGE_MM:
        index = [(index[0] - 1) % count, *index]
    if paths[index[-1]].length - paths[index[-1]].project(Point(*dart[2])) < LEAST_EDGE_MM:
        index = [*index, (index[-1] + 1) % count]
    if len(index) == 1 or len(set(index)) < len(index) or len(index) > count - 2 or any(parts[k][1] for k in index):
        return parts
    whole = np.vstack([parts[index[0]][0], *(parts[k][0][1:] for k in index[1:])])
    return [(whole, False), *(parts[(index[-1] + 1 + k) % count] for k in range(count - len(index)))]


def _parted(edge: Floats, places: list[float], dart: Floats, table: Table, ink: Ink | None) -> list[tuple[Floats, bool]]:
    total = float(arc_length(edge)[-1])

    def part(start: float, end: float) -> Floats:
        return at_lengths(edge, np.linspace(start, end, max(4, round((end - start) / 1.5) + 1)))

    before, after = part(0.0, places[0] - 3.0), part(places[1] + 3.0, total)
    if ink is None:
        before, after = (refined(table, one, np.zeros(len(one), bool), SEARCH_MM) for one in (before, after))
        own = part(*places)
        peak = own[int(np.argmax(np.abs(_above(own, dart))))]
        halves = [np.linspace(*ends, 9) for ends in ((dart[0], peak), (peak, dart[2]))]
        one, two = (refined(table, half, np.zeros(len(half), bool), SEARCH_MM) for half in halves)
        one, two = joined(_straight(one), _straight(two))
        before, one = joined(before, one)
        two, after = joined(two, after)
        mouth = np.array([one[0], one[-1], two[-1]])
    else:
        ends = [_on_leg(before[::-1], dart[1], dart[0]), _on_leg(after, dart[1], dart[2])]
        before, after = np.vstack([before, ends[0]]), np.vstack([ends[1], after])
        mouth = np.array([ends[0], _printed_peak(ink, *ends), ends[1]])
    return [(before, False), (mouth, True), (after, False)]


def _above(points: Floats, dart: Floats) -> Floats:
    """How far points lie beyond the chord between the legs' ends, away from the dart's point."""
    way = (dart[2] - dart[0]) / np.hypot(*(dart[2] - dart[0]))
    out = np.array([way[1], -way[0]])
    out = out if (dart[0] - dart[1]) @ out > 0 else -out
    return np.asarray((points - dart[0]) @ out)


def _straight(points: Floats) -> Floats:
    """A straight line through the middle of short stretches that are round at their ends."""
    middle = points[len(points) // 4 : len(points) - len(points) // 4]
    centre = middle.mean(axis=0)
    way = np.linalg.svd(middle - centre)[2][0]
    return np.asarray(centre + np.outer((points[[0, -1]] - centre) @ way, way))


def _on_leg(towards: Floats, point: Floats, end: Floats) -> Floats:
    """Where a line that ends near a leg meets the leg's line."""
    start, way = towards[0], towards[0] - towards[min(6, len(towards) - 1)]
    leg = end - point
    cross = way[0] * leg[1] - way[1] * leg[0]
    if abs(cross) < 1e-6:
        return np.asarray(end)
    w = point - start
    return np.asarray(start + way * (w[0] * leg[1] - w[1] * leg[0]) / cross)


def _printed_peak(ink: Ink, one: Floats, two: Floats) -> Floats:
    """The top of a printed mouth; the middle of the chord where none is printed."""
    chord = two - one
    out = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
    t = np.linspace(0.06, 0.94, 24)[:, None]
    shares, heights = np.linspace(0.2, 0.8, 13), np.arange(DEEPEST_MM, HIGHEST_MM, 0.5)
    tops = (one + shares[:, None] * chord)[:, None] + heights[:, None] * out
    legs = np.concatenate([one + t * (tops[..., None, :] - one), tops[..., None, :] + t * (two - tops[..., None, :])], axis=-2)
    dark = ink.at(legs).mean(axis=-1)
    best = np.unravel_index(int(dark.argmax()), dark.shape)
    return np.asarray(tops[best] if dark[best] > LEAST_DARK else (one + two) / 2)
