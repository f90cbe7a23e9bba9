"""The way a size line takes where it could not be followed along the paper's edge: round a corner of its own, or on from a crossing.

An outline is looked over for stretches on which its line is not drawn, or is dashed as another size's. From where it is well seen on one
side of such a stretch to where it is on the other the likeliest way is found (Dijkstra 1959), on which the ink is as dense along it as the
line's own dashes make it: denser is another size's line, thinner is paper.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.corners import turning_deg
from fitcheck.piece.dashes import SPOT_MM, WINDOW_MM, Dash, dash_of, shares_of
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import outwards
from fitcheck.piece.size_lines import SizeLine, drawn_at, finely_on
from fitcheck.piece.smooth import joined, smooth_line

STEP_MM = 0.5
DENSE_MM, THIN = 16.0, 0.2  # along a line, over which its density is told: a whole pattern of dashes; by how much it may be less
LOOK_MM = 3.0  # from one look at the dashes to the next
LEAST_MM, LONGEST_MM = 8.0, 110.0  # of a stretch that is looked at: shorter is a crossing or a notch, longer is hidden by something
ALSO_MM = 6.0  # before and after it, which are found anew
MOVED_MM = 2.5  # a way that leads nowhere else than what is there is left alone: lines so near each other are followed better than found
ROUND_MM = 24.0  # around a stretch, where its way may lie
ARM_MM, ARMS = 10.0, 60  # of a way's density: ahead of a place, in each of so many directions, so that an arm's end is never 0.6 mm off
SHORT_MM, GAP_MM, GOES_ON = (
    3.5,
    3.5,
    0.9,
)  # of the arm that goes on to another side, gaps between dashes filled, and of its length that is printed
FAR_OFF = np.float32(0.35)  # density so unlike the line's costs as much as bare paper
CHANGES_OFF = np.float32(0.35)  # the same of changes a millimetre: dots have 0.67, short dashes 0.31, long ones 0.17
AT_LEAST = 0.03  # price of a millimetre on the line, so that the shortest way is taken
GOOD, BETTER = 0.35, 0.15  # most that a way may cost a millimetre, and by how much less than what is there
STEADY_MM, STEPS_MM = 30.0, 0.55  # of a way that is smoothed, and how far half of it may then lie off: dots make steps
OWN, TELLING_MM = 0.5, 22.0  # of a line's length that is dashed in a way, for it to be that; a shorter one tells nothing
INK = 0.45  # of print's darkness, for a place to be printed
SMOOTH_MM, OFF_CORNER_MM = 7.0, 1.5  # of a way found on a raster; beside its corner, where it is round
BEFORE_MM, BEYOND_MM = 2.0, 6.0  # arms by which a way's corner is told


@dataclass(frozen=True, slots=True)
class SizePrint:
    """How a size is printed: its dashes, the share of its length that is dark, how often a millimetre that changes, others' dashes."""

    dash: Dash
    cover: float
    changes: float
    others: frozenset[Dash]


def changes_along(ink: Ink, line: Floats) -> float:
    """How often a millimetre a printed line begins or ends."""
    long = float(arc_length(line)[-1])
    on = drawn_at(ink, at_lengths(line, np.arange(0.0, long, SPOT_MM)))
    return float((on[1:] != on[:-1]).sum() / long)


def with_ways(ink: Ink, edges: Sequence[Floats], lines: Sequence[SizeLine | None], size: SizePrint) -> list[Floats]:
    """The edges, where their line is not drawn led along it.

    Parameters
    ----------
    edges : sequence of ndarray, shape (N, 2)
        Clockwise as seen, each beginning where the one before ends.
    lines : sequence of SizeLine or None
        None where the paper's edge stands for the line; nothing is looked for there.
    """
    found = [np.asarray(edge) for edge in edges]
    for k, line in enumerate(lines):
        if line is not None and lines[k - 1] is not None:
            found[k - 1], found[k] = _round_corner(ink, found[k - 1], found[k], size)
    return [edge if line is None else _within(ink, edge, size) for edge, line in zip(found, lines, strict=True)]


def _round_corner(ink: Ink, one: Floats, two: Floats, size: SizePrint) -> tuple[Floats, Floats]:
    """Two edges that meet in a corner, led to it along their line."""
    end, start = _unseen_until(ink, one[::-1], size), _unseen_until(ink, two, size)
    if end + start < LEAST_MM or end + start > LONGEST_MM:
        return one, two
    end, start = end + ALSO_MM, start + ALSO_MM
    longest = [float(arc_length(edge)[-1]) for edge in (one, two)]
    if end > longest[0] - ALSO_MM or start > longest[1] - ALSO_MM:
        return one, two
    kept, rest = _without(one[::-1], end)[::-1], _without(two, start)
    old = np.vstack([_part(one[::-1], end)[::-1], _part(two, start)[1:]])
    way = _way(ink, kept[-1], rest[0], old, size, True)
    corner = None if way is None else _corner(way)
    if way is None or corner is None:
        return one, two
    halves = _part(way, corner), _part(way[::-1], float(arc_length(way)[-1]) - corner)[::-1]
    if not all(_steady(half) for half in halves):
        return one, two
    first, second = (_exactly(ink, half) for half in halves)
    return joined(np.vstack([kept[:-1], _off_end(first)]), np.vstack([_off_end(second[::-1])[::-1], rest[1:]]))


def _within(ink: Ink, edge: Floats, size: SizePrint) -> Floats:
    """One edge, led along its line where it runs over bare paper on its way."""
    along, seen, _ = _seen(ink, edge, size)
    runs = np.flatnonzero(np.diff(np.pad((~seen).astype(int), 1))).reshape(-1, 2)
    total, found = float(along[-1]), edge
    for first, last in runs[::-1]:
        start, end = float(along[first]) - ALSO_MM, float(along[min(last, len(along) - 1)]) + ALSO_MM
        if start < ALSO_MM or end > total - ALSO_MM or not LEAST_MM < end - start - 2 * ALSO_MM < LONGEST_MM:
            continue
        before, after = _part(found, start), _without(found, end)
        way = _way(ink, before[-1], after[0], at_lengths(found, np.arange(start, end, STEP_MM)), size, False)
        if way is not None and _steady(way):
            found = np.vstack([before[:-1], _exactly(ink, way), after[1:]])
    return found


def _seen(ink: Ink, edge: Floats, size: SizePrint) -> tuple[Floats, NDArray[np.bool_], NDArray[np.bool_]]:
    """Lengths along an edge, whether a line as dense is drawn there, and whether that is dashed as no other size is."""
    along = np.arange(0.0, float(arc_length(edge)[-1]), SPOT_MM)
    on = drawn_at(ink, at_lengths(edge, along))
    near = 2 * round(DENSE_MM / SPOT_MM / 2) + 1
    dense = cv2.blur(on.astype(np.float32)[None], (near, 1), borderType=cv2.BORDER_REFLECT)[0]
    wide = min(round(WINDOW_MM / SPOT_MM), len(on))
    starts = np.arange(0, len(on) - wide + 1, round(LOOK_MM / SPOT_MM))
    own = np.array([dash_of(on[start : start + wide]) not in size.others for start in starts])
    nearest = np.clip(np.round((np.arange(len(on)) - wide / 2) / round(LOOK_MM / SPOT_MM)).astype(int), 0, len(starts) - 1)
    return along, np.asarray(dense > size.cover - THIN), np.asarray(own[nearest])


def _unseen_until(ink: Ink, edge: Floats, size: SizePrint) -> float:
    """How far from its beginning an edge's line is not drawn, mm."""
    along, seen, own = _seen(ink, edge, size)
    hits = np.flatnonzero(seen & own)
    return float(along[hits[0]]) if len(hits) else float(along[-1])


def _way(ink: Ink, start: Floats, end: Floats, old: Floats, size: SizePrint, by_dashes: bool) -> Floats | None:
    """The likeliest way between two places; None where none is drawn, or none better than what is there.

    Parameters
    ----------
    by_dashes : bool
        A way dashed as the size is is better than one that is not, even if either is as dense.
    """
    low, high = old.min(axis=0) - ROUND_MM, old.max(axis=0) + ROUND_MM
    price, corner = _prices(ink, low, high, size)

    def px(points: Floats) -> NDArray[np.intp]:
        return np.asarray(np.clip(np.round((points - corner) / STEP_MM), 0, np.array(price.shape[::-1]) - 1), np.intp)

    way = _cheapest(price, *(tuple(px(place[None])[0]) for place in (start, end)))
    spots = px(at_lengths(old, np.arange(0.0, float(arc_length(old)[-1]), STEP_MM)))
    mine, theirs = (float(price[at[:, 1], at[:, 0]].mean()) for at in (way, spots))
    apart = max(float(np.hypot(*(corner + spots * STEP_MM - place).T).min()) for place in corner + way * STEP_MM)
    line = np.vstack([start, corner + way[1:-1] * STEP_MM, end])
    own, theirs_own = (_dashed(ink, one, size) for one in (line, old))
    better = mine < theirs - BETTER or (by_dashes and own is True and theirs_own is not True and mine < theirs)
    return line if mine < GOOD and better and own is not False and apart > MOVED_MM else None


def _dashed(ink: Ink, line: Floats, size: SizePrint) -> bool | None:
    """Whether a line is dashed as the size is; None where that cannot be told: it is too short, or other lines lie on it."""
    long = float(arc_length(line)[-1])
    if long < TELLING_MM:
        return None
    shares = shares_of(drawn_at(ink, at_lengths(_exactly(ink, line), np.arange(0.0, long, SPOT_MM))))
    if shares.get(size.dash, 0.0) > OWN:
        return True
    return False if sum(shares.get(dash, 0.0) for dash in size.others) > OWN else None


def _prices(ink: Ink, low: Floats, high: Floats, size: SizePrint) -> tuple[NDArray[np.float32], Floats]:
    """What each place of a part of the paper costs, 0 on a line of this density to 1, and where its first pixel lies."""
    scale = STEP_MM / ink.picture.mm_per_px
    first = np.clip(np.floor(ink.picture.to_px(low[None])[0]), 0, None).astype(int)
    last = np.ceil(ink.picture.to_px(high[None])[0]).astype(int)
    part = ink.dark[first[1] : last[1], first[0] : last[0]]
    small = cv2.resize(part, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_LINEAR)
    on = (cv2.dilate(small, np.ones((2, 2), np.uint8)) > INK).astype(np.float32)
    dense, changes = _arms(on, ARM_MM)
    unlike = np.maximum(np.abs(dense - np.float32(size.cover)) / FAR_OFF, np.abs(changes - np.float32(size.changes)) / CHANGES_OFF)
    along = np.minimum(unlike, 1)
    # a line goes on to another side too, if only round a corner: a place beside one sees it by chance on one side
    closing = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * round(GAP_MM / STEP_MM / 2) + 1,) * 2)
    whole = np.asarray(cv2.morphologyEx(on, cv2.MORPH_CLOSE, closing), np.float32)
    goes_on = np.clip((np.float32(GOES_ON) - _arms(whole, SHORT_MM)[0]) / FAR_OFF, 0, 1)
    best = np.maximum(along, _least_elsewhere(goes_on)).min(axis=0)
    shift = (scale - 1) / 2 * ink.picture.mm_per_px
    return best, np.asarray(ink.picture.to_mm(first.astype(float)) + shift)


def _least_elsewhere(arms: NDArray[np.float32]) -> NDArray[np.float32]:
    """For each direction the least of those that lie at least a sixth of a turn off, shape as given."""
    apart = ARMS // 6
    wide, least, had = ARMS - 2 * apart + 1, np.roll(arms, -apart, axis=0), 1
    while had < wide:  # each step joins two stretches of directions
        more = min(had, wide - had)
        least = np.minimum(least, np.roll(least, -more, axis=0))
        had += more
    return least


def _arms(on: NDArray[np.float32], long_mm: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Of arms that go from each place into each direction: the share that is printed, and changes a millimetre; shape (ARMS, H, W)."""
    reach = round(long_mm / STEP_MM)
    wide = cv2.copyMakeBorder(on, reach, reach, reach, reach, cv2.BORDER_CONSTANT)
    dense, changes = (np.zeros((ARMS, *on.shape), np.float32) for _ in range(2))
    for k, turn in enumerate(np.arange(ARMS) * (2 * np.pi / ARMS)):
        before = on
        for far in range(reach + 1):
            x, y = round(reach + far * np.cos(turn)), round(reach + far * np.sin(turn))
            here = wide[y : y + on.shape[0], x : x + on.shape[1]]
            dense[k] += here
            changes[k] += here != before
            before = here
    return np.asarray(dense / (reach + 1), np.float32), np.asarray(changes / long_mm, np.float32)


def _cheapest(price: NDArray[np.float32], start: tuple[int, int], end: tuple[int, int]) -> NDArray[np.intp]:
    """Pixels (x, y) of the cheapest way, from start to end."""
    from scipy.sparse import csr_matrix  # a tenth of a second to import, which most pieces are spared
    from scipy.sparse.csgraph import dijkstra

    rows, columns = price.shape
    number = np.arange(rows * columns).reshape(rows, columns)
    froms, tos, costs = [], [], []
    for down, right, long in ((0, 1, 1.0), (1, 0, 1.0), (1, 1, 2**0.5), (1, -1, 2**0.5)):
        here = (slice(0, rows - down), slice(max(0, -right), columns - max(0, right)))
        there = (slice(down, rows), slice(max(0, right), columns + min(0, right)))
        froms.append(number[here].ravel())
        tos.append(number[there].ravel())
        costs.append((AT_LEAST + (price[here] + price[there]).ravel() / 2) * long)
    graph = csr_matrix((np.concatenate(costs), (np.concatenate(froms), np.concatenate(tos))), (number.size, number.size))
    came = dijkstra(graph, directed=False, indices=number[start[1], start[0]], return_predecessors=True)[1]
    at, way = int(number[end[1], end[0]]), []
    while at >= 0:
        way.append((at % columns, at // columns))
        at = int(came[at])
    return np.array(way[::-1])


def _corner(way: Floats) -> float | None:
    """How far along a way it turns most, as corners of a piece do: clockwise; None where it does not."""
    even = at_lengths(way, np.arange(0.0, float(arc_length(way)[-1]), STEP_MM))
    reach = round(BEYOND_MM / STEP_MM)
    if len(even) < 2 * reach + 2:
        return None
    turn = turning_deg(even, BEFORE_MM, BEYOND_MM, STEP_MM)[reach:-reach]
    return float(np.argmax(turn) + reach) * STEP_MM if turn.max() > 15.0 else None


def _steady(way: Floats) -> bool:
    """Whether a way runs as a line of a piece does: one that leaps from line to line goes in steps."""
    if float(arc_length(way)[-1]) < STEADY_MM:
        return True
    smooth = smooth_line(way, STEP_MM, STEADY_MM, 0.3)
    far = [float(np.hypot(*(smooth - place).T).min()) for place in way]
    return float(np.median(far)) < STEPS_MM


def _exactly(ink: Ink, way: Floats) -> Floats:
    """A way found on a raster, smooth and in the middle of its line."""
    smooth = smooth_line(way, STEP_MM, SMOOTH_MM, 0.3)
    return finely_on(ink, smooth, -outwards(smooth))


def _off_end(line: Floats) -> Floats:
    return _part(line, float(arc_length(line)[-1]) - OFF_CORNER_MM)


def _part(line: Floats, long: float) -> Floats:
    """The first stretch of a line."""
    along = arc_length(line)
    return np.vstack([line[along < long], at_lengths(line, np.array([long]))])


def _without(line: Floats, long: float) -> Floats:
    """A line without its first stretch."""
    along = arc_length(line)
    return np.vstack([at_lengths(line, np.array([long])), line[along > long]])
