"""What is printed inside a piece: grain line, notches, the bracket that says "place on the fold"."""

from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.drawn_lines import across
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import outwards

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


def find_grain(ink: Ink, lines: Sequence[tuple[Floats, Floats]], outline: Floats) -> Floats | None:
    """The grain line: the longest straight line with arrow heads whose ends lie free of the outline, shape (2, 2)."""
    ring = LineString(np.vstack([outline, outline[:1]]))
    best: tuple[float, Floats] | None = None
    for one, two in lines:
        long = float(np.hypot(*(two - one)))
        if long < LEAST_GRAIN_MM or min(ring.distance(Point(*end)) for end in (one, two)) < FREE_MM:
            continue
        heads = [_barbs(ink, end, other) for end, other in ((one, two), (two, one))]
        score = long * (min(heads) + 0.5 * max(heads))
        if max(heads) > LEAST_BARBS and (best is None or score > best[0]):
            best = score, np.array([one, two])
    return None if best is None else best[1]


def _barbs(ink: Ink, end: Floats, other: Floats) -> float:
    way = (other - end) / np.hypot(*(other - end))
    turns = np.radians(np.outer([1, -1], BARBS_DEG))
    barbs = np.stack([way[0] * np.cos(turns) - way[1] * np.sin(turns), way[0] * np.sin(turns) + way[1] * np.cos(turns)], axis=-1)
    starts = end + np.arange(-2.0, 4.1, 1.0)[:, None] * way
    reach = np.arange(2.5, BARB_MM, 0.3)
    seen = ink.at(starts[:, None, None, None] + reach[:, None] * barbs[:, :, None])  # slips, sides, angles, along
    return float(max(seen.mean(axis=-1).min(axis=1).max(), 0.0))


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
        bow = np.abs((edge - ends[0]) @ across(ends)).max()
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
