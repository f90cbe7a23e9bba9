"""Nested size lines: followed along each edge of the sheet, told apart by how they are dashed.

Each edge of the paper is unrolled into a strip, depth against length, in which size lines run nearly level. The darkest smooth course is
found as a whole (Viterbi over place and slope, so that a line runs straight on through a crossing), taken out, and the next looked for.

Long, because the steps of one search share its strips.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.dashes import SPOT_MM, Dash, dash_of, shares_of
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import outwards
from fitcheck.piece.smooth import smoothed

ALONG_MM, DEEP_MM = 2.0, 0.25  # steps of the strip
SHALLOWEST_MM, DEEPEST_MM = 2.0, 80.0  # beneath the paper's edge; margin and four grades
SLOPES = 4  # to either side, each of an eighth: at a corner that sizes share, grades fan out so much
BEND = 0.10  # price of a change of slope by one, in full darkness
ASIDE_MM = 0.9  # where a line is no darker than the paper
TAKEN_MM = 0.8  # around a line that has been found
MOST_LINES = 8
LEAST_FULL = 0.25  # darkness of a line where it is printed
AGAIN_MM, AWAY, ON_IT_MM = 8.0, 0.02, 1.2  # beside a line known already; the price of each millimetre off it; where it was seen
STEEP = 8  # as SLOPES, near corners of a line known already
LEAST_COVER = 0.16  # of its length that a dotted line is dark, blurred
FINE_MM = 0.6
GAP_MM, LEAST_RUN_MM, LEAST_MM = 5.0, 8.0, 12.0  # wider than any gap between dashes; of what is no speck; of a line
ARM_MM, ASTRAY_MM = 20.0, 2.0  # of a run, by which it tells where it goes on, and how far off it may be found there
BESIDE_MM = 60.0  # of a line beside something that lies on it, by which it is continued beneath that
DARK_SHARE = 0.5
WAVE_MM, USUAL_MM = 20.0, 0.12


@dataclass(frozen=True, slots=True)
class SizeLine:
    """One line along one edge.

    Attributes
    ----------
    points : ndarray, shape (N, 2)
    depth_mm : float
        Beneath the paper's edge, in the middle.
    dash : Dash
    cover : float
        Of its length that is dark.
    reach : float
        Of the edge's length along which it is seen.
    shares : mapping of Dash to float
        Of its length that is dashed so: where sizes cross, a course may go on along another one.
    """

    points: Floats
    depth_mm: float
    dash: Dash
    cover: float
    reach: float
    shares: Mapping[Dash, float] = field(default_factory=dict)


def lines_along(ink: Ink, edge: Floats, shallowest_mm: float = SHALLOWEST_MM) -> list[SizeLine]:
    """Lines that run along one edge of the paper, or of the outermost size (clockwise as seen), from the outermost inwards."""
    strip = _unrolled(ink, edge, shallowest_mm, DEEPEST_MM)
    ridge = strip.ridge
    found: list[SizeLine] = []
    for _ in range(MOST_LINES):
        course = strip.depths[_course(ridge)]
        line = _measured(ink, strip.points, strip.inwards, strip.along, course)
        if line is None:
            break
        found.append(line)
        ridge = np.where(np.abs(strip.depths - course[:, None]) < TAKEN_MM, 0, ridge)
    return sorted(found, key=lambda line: line.depth_mm)


def followed_again(ink: Ink, edge: Floats, line: SizeLine | None) -> Floats:
    """An edge looked for once more, corners and all: where its line was seen it stays on it, beyond that it is sought farther off.

    Parameters
    ----------
    edge : ndarray, shape (N, 2)
        The line, continued to the corners with its neighbours.
    line : SizeLine or None
        As it was seen; None where the paper's edge stands for it.
    """
    if line is None:
        return edge
    strip = _unrolled(ink, edge, -AGAIN_MM, AGAIN_MM)
    known = np.min(np.hypot(*(strip.points[:, None] - line.points).transpose(2, 0, 1)), axis=1) < 2 * ALONG_MM
    off = np.abs(strip.depths).astype(np.float32)
    ridge = strip.ridge - AWAY * off - np.where(known[:, None] & (off > ON_IT_MM), np.float32(1.0), np.float32(0.0))
    course = strip.depths[_course(ridge, STEEP)]
    depth, _, full = _finely(ink, strip.points, strip.inwards, strip.along, course)
    return edge if full < LEAST_FULL else np.asarray(strip.points + depth[:, None] * strip.inwards)


@dataclass(frozen=True, slots=True)
class _Strip:
    """A stretch of paper unrolled along an edge: `ridge` (N, D) is how much darker a place is than both sides of it."""

    points: Floats
    inwards: Floats
    along: Floats
    depths: Floats
    ridge: NDArray[np.float32]


def _unrolled(ink: Ink, edge: Floats, shallow_mm: float, deep_mm: float) -> _Strip:
    total = float(arc_length(edge)[-1])
    along = np.linspace(0, total, max(8, round(total / ALONG_MM) + 1))
    points = at_lengths(edge, along)
    inwards = -outwards(points)
    depths = np.arange(shallow_mm - ASIDE_MM, deep_mm + ASIDE_MM, DEEP_MM)
    step = (along[1] - along[0]) / 4
    way = np.column_stack([-inwards[:, 1], inwards[:, 0]])
    spots = (
        points[:, None, None]
        + depths[None, :, None, None] * inwards[:, None, None]
        + (np.arange(-1.5, 2) * step)[:, None] * way[:, None, None]
    )
    dark = ink.at(spots).mean(axis=2)
    aside = round(ASIDE_MM / DEEP_MM)
    ridge = dark[:, aside:-aside] - np.maximum(dark[:, : -2 * aside], dark[:, 2 * aside :])
    return _Strip(points, inwards, along, depths[aside:-aside], np.clip(ridge, 0, 1).astype(np.float32))


def _course(ridge: NDArray[np.float32], steepest: int = SLOPES) -> NDArray[np.intp]:
    """The darkest course through a strip, one place a row."""
    rows, places = ridge.shape
    slopes = np.arange(-steepest, steepest + 1)
    total = np.repeat(ridge[0][:, None], len(slopes), axis=1).astype(np.float64)
    came = np.zeros((rows, places, len(slopes)), np.int8)
    source = np.clip(np.arange(places)[:, None] - slopes, 0, places - 1)
    taken = source * len(slopes) + np.arange(len(slopes))
    padded = np.full((places, len(slopes) + 2), -1e6)
    outside = (np.arange(places)[:, None] - slopes != source) * -1e3
    for i in range(1, rows):
        padded[:, 1:-1] = total
        less, more = padded[:, :-2] - BEND, padded[:, 2:] - BEND
        turned = np.maximum(np.maximum(less, total), more)
        best = np.where(less == turned, -1, np.where(total == turned, 0, 1)).astype(np.int8)
        total = turned.take(taken) + outside + ridge[i][:, None]
        came[i] = best.take(taken)
    place, slope = (int(at) for at in np.unravel_index(int(total.argmax()), total.shape))
    course = np.empty(rows, np.intp)
    for i in range(rows - 1, -1, -1):
        course[i] = place
        before = int(came[i, place, slope])
        place = int(np.clip(place - slopes[slope], 0, places - 1))
        slope = int(np.clip(slope + before, 0, len(slopes) - 1)) if i else slope
    return course


def _measured(ink: Ink, points: Floats, inwards: Floats, along: Floats, course: Floats) -> SizeLine | None:
    """The line near a course to a tenth of a millimetre, and its dashes; None where there is none."""
    depth, _, full = _finely(ink, points, inwards, along, course)
    if full < LEAST_FULL:
        return None
    line = points + depth[:, None] * inwards
    spots = at_lengths(line, np.arange(0, arc_length(line)[-1], SPOT_MM))
    aside = outwards(spots)
    seen = np.max([ink.at(spots + off * aside) for off in (-0.25, 0.0, 0.25)], axis=0)
    on, hidden = seen > DARK_SHARE * full, ink.hidden(spots)
    part = _stretch(on, _depths_along(depth, along, len(on)))
    if part is None:
        return None
    own = on[part[0] : part[1]][~hidden[part[0] : part[1]]]
    if not len(own):
        return None
    cover = float(own.mean())
    reach = float(_closed(own).sum()) / len(on)
    if cover < LEAST_COVER or reach * along[-1] < LEAST_MM:
        return None
    first, last = (int(at) for at in np.clip(np.round(np.array(part) / len(on) * len(line)), 0, len(line)))
    if last - first < 4:
        first, last = 0, len(line)
    depth, first, last = _on_beneath(depth, ink.hidden(line), first, last)
    part_of_it = (points + depth[:, None] * inwards)[first:last]
    return SizeLine(part_of_it, float(depth[len(depth) // 2]), dash_of(own), cover, reach, shares_of(own))


def _on_beneath(depth: Floats, hidden: NDArray[np.bool_], first: int, last: int) -> tuple[Floats, int, int]:
    """Depths of a line that goes on beneath something as it runs beside it, and its first and last place with that."""
    found = depth.copy()
    reach, slack = round(BESIDE_MM / ALONG_MM), round(GAP_MM / ALONG_MM)
    for turned in (False, True):
        own, lies = (found[::-1], hidden[::-1]) if turned else (found, hidden)  # views: what is written stands in `found`
        start, end = (len(found) - last, len(found) - first) if turned else (first, last)
        stop = end
        while stop < len(own) and lies[stop : stop + slack].any():
            stop += 1
        if stop > end:
            x = np.arange(max(start, end - reach), end)
            slope, level = np.polyfit(x - end, own[x], 1)
            beyond = np.minimum(np.arange(stop - end) / reach, 1.0)  # a slope fades out over as much as tells it
            own[end:stop] = level + slope * reach * (beyond - beyond**2 / 2)
        first, last = (len(found) - stop, last) if turned else (first, stop)
    return found, first, last


def _finely(ink: Ink, points: Floats, inwards: Floats, along: Floats, course: Floats) -> tuple[Floats, Floats, float]:
    """Depths smooth and exact, how dark the line is at each, and how dark it is where it is printed."""
    d = np.arange(-FINE_MM, FINE_MM + 0.01, 0.15)
    near = ink.at(points[:, None] + (course[:, None] + d)[..., None] * inwards[:, None])
    weight = near**2
    fine = course + (weight * d).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-6)
    clear = near.max(axis=1)
    full = float(np.percentile(clear, 92))
    weights = np.clip(clear / max(full, 1e-6) - 0.35, 0, 1)
    depth = smoothed(fine, weights, float(along[1] - along[0]), min(WAVE_MM, 0.4 * along[-1] + 8), USUAL_MM)
    return depth, clear, full


def finely_on(ink: Ink, points: Floats, inwards: Floats) -> Floats:
    """A line brought to the middle of the printed one that runs within half a millimetre of it.

    Parameters
    ----------
    points : ndarray, shape (N, 2)
    inwards : ndarray, shape (N, 2)
        Unit vectors square to it.
    """
    depth, _, _ = _finely(ink, points, inwards, arc_length(points), np.zeros(len(points)))
    return np.asarray(points + depth[:, None] * inwards)


def drawn_at(ink: Ink, spots: Floats) -> NDArray[np.bool_]:
    """Whether something is printed at places along a line, or close beside it, shape (N,)."""
    aside = outwards(spots)
    return np.asarray(np.max([ink.at(spots + off * aside) for off in (-0.25, 0.0, 0.25)], axis=0) > DARK_SHARE)


def _depths_along(depth: Floats, along: Floats, count: int) -> Floats:
    """Depths at `count` places evenly along."""
    return np.asarray(np.interp(np.linspace(0, along[-1], count), along, depth))


def _closed(on: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Gaps between dashes filled."""
    size = 2 * round(GAP_MM / SPOT_MM / 2) + 1
    return np.asarray(
        cv2.morphologyEx(np.pad(on.astype(np.uint8), size)[None], cv2.MORPH_CLOSE, np.ones((1, size), np.uint8))[0, size:-size] > 0
    )


def _stretch(on: NDArray[np.bool_], depth: Floats) -> tuple[int, int] | None:
    """First and last place of a line: its longest run, and those before and after it that lie as it goes on."""
    edges = np.flatnonzero(np.diff(np.pad(_closed(on).astype(int), 1)))
    runs = [(int(a), int(b)) for a, b in edges.reshape(-1, 2) if (b - a) * SPOT_MM > LEAST_RUN_MM]
    if not runs:
        return None
    longest = max(range(len(runs)), key=lambda k: runs[k][1] - runs[k][0])
    start, end = runs[longest]
    arm = round(ARM_MM / SPOT_MM)
    for a, b in runs[longest + 1 :]:
        if not _goes_on(depth[max(start, end - arm) : end], depth[a : min(b, a + arm)], a - end):
            break
        end = b
    for a, b in runs[:longest][::-1]:
        if not _goes_on(depth[start : min(end, start + arm)][::-1], depth[max(a, b - arm) : b][::-1], start - b):
            break
        start = a
    return start, end


def _goes_on(before: Floats, after: Floats, gap: int) -> bool:
    """Whether a run of depths is the continuation of another: both, continued, meet half-way, as an even bend's tangents do."""
    middles = []
    for run in (before, after[::-1]):
        slope, level = np.polyfit(np.arange(len(run)) - len(run) + 1, run, 1)
        middles.append(level + slope * gap / 2)
    return bool(abs(middles[0] - middles[1]) < ASTRAY_MM)
