"""Nested sizes foretell each other: every corner moves from size to size along one straight line, by steps that all corners share.

So a corner that is hidden in one size is known from the others, and the way to it from how theirs run. Corners times sizes are fitted as
places that move in proportion to one number a size (a matrix of rank one), each counting as well as it is seen.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.dashes import SPOT_MM, WINDOW_MM, WINDOW_STEP_MM, dash_of
from fitcheck.piece.ink import Ink
from fitcheck.piece.size_lines import ALONG_MM, SizeLine, drawn_at
from fitcheck.piece.smooth import cornered

LEAST_SIZES = 3  # two tell no direction of their own
ROUNDS, USUAL_MM = 8, 1.0  # of the fit; what a corner usually lies off
GAP_MM = 6.0  # between a line's seen end and its corner, at which the corner counts half
KNOWN, OTHERS = 0.5, 1.2  # a corner that counts less is doubted; how much others must count together to foretell it
OFF_MM, FAR_OFF_MM = 1.0, 4.0  # by which a doubted corner, and one that seems seen, must lie off to be moved
STRAY_MM = 12.0  # from the model at both ends: another line altogether
ALIKE_MM, MANY = 0.8, 2.4  # what others may lie off each other, and how much they must count, against a corner that seems seen


def graded_lines(
    ink: Ink, parts: Sequence[Floats], by_size: Sequence[Sequence[SizeLine | None]], rank: int, again: Sequence[int]
) -> list[SizeLine | None]:
    """The lines of one size, led on to hidden corners as the other sizes foretell.

    Parameters
    ----------
    parts : sequence of ndarray, shape (N, 2)
        The edges along which lines were looked for, clockwise as seen.
    by_size : sequence of sequence of SizeLine or None
        Of each size, in order, its line along each edge.
    again : sequence of int
        Edges that go on beyond a dart's mouth and begin with no corner.
    """
    own = list(by_size[rank])
    if len(by_size) < LEAST_SIZES:
        return own
    whole = [cornered([part if line is None else line.points for part, line in zip(parts, lines, strict=True)], again) for lines in by_size]
    starts = [k for k in range(len(parts)) if k not in again]
    corners = np.array([[edges[k][0] for k in starts] for edges in whole])
    seen = np.array([[_seen(ink, lines, k, edges[k][0]) for k in starts] for edges, lines in zip(whole, by_size, strict=True)])
    foretold = dict(zip(starts, _foretold(corners, seen, rank), strict=True))
    for k, line in enumerate(own):
        after = (k + 1) % len(own)
        ends = [foretold.get(k), foretold.get(after)]
        others = [i for i in range(len(by_size)) if i != rank and by_size[i][k] is not None]
        if (all(end is None for end in ends) and line is not None) or not others:
            continue
        near = min(others, key=lambda i: (-round(_known(seen, starts, i, (k, after)), 1), abs(i - rank)))
        start, end = (place if end is None else end for place, end in zip(whole[rank][k][[0, -1]], ends, strict=True))
        model = _moved(whole[near][k], start, end)
        moved = ends[0] is not None, ends[1] is not None
        points = model if line is None else _led(model, _surely(ink, line, *moved), *moved)
        other = by_size[near][k]
        own[k] = replace(other if line is None else line, points=points) if other is not None else line
    return own


def _seen(ink: Ink, lines: Sequence[SizeLine | None], k: int, corner: Floats) -> float:
    """How well the corner at which an edge begins is seen: 1 where both lines run up to it."""
    before, after = lines[k - 1], lines[k]
    if before is None or after is None:
        return 0.0
    near = [line.points[int(np.argmin(np.hypot(*(line.points - corner).T)))] for line in (before, after)]
    if ink.hidden(np.array([*near, corner])).any():
        return 0.0
    return float(1 / (1 + (max(np.hypot(*(place - corner)) for place in near) / GAP_MM) ** 2))


def _known(seen: Floats, starts: Sequence[int], size: int, edges: tuple[int, int]) -> float:
    """How well both ends of an edge are seen in a size."""
    return float(np.prod([seen[size, starts.index(k)] if k in starts else 1.0 for k in edges]))


def _foretold(corners: Floats, seen: Floats, rank: int) -> list[Floats | None]:
    """Where a size's corners must lie, by the other sizes; None where they are right, or not known any better.

    Parameters
    ----------
    corners : ndarray, shape (sizes, corners, 2)
    seen : ndarray, shape (sizes, corners)
    """
    steps = np.arange(len(corners), dtype=float)
    weights = seen + 1e-6
    for _ in range(ROUNDS):
        base, way = _lines(corners, weights, steps)
        off = np.hypot(*np.moveaxis(corners - base - steps[:, None, None] * way, -1, 0))
        weights = (seen + 1e-6) / (1 + (off / USUAL_MM) ** 2)
        steps = (weights * ((corners - base) * way).sum(axis=-1)).sum(axis=1) / np.maximum(
            (weights * (way**2).sum(axis=-1)).sum(axis=1), 1e-9
        )
        if abs(steps[-1] - steps[0]) < 0.1:
            return [None] * corners.shape[1]
        steps = (steps - steps[0]) * (len(steps) - 1) / (steps[-1] - steps[0])
    without = weights.copy()
    without[rank] = 0.0
    base, way = _lines(corners, without + 1e-9, steps)
    off = np.hypot(*np.moveaxis(corners - base - steps[:, None, None] * way, -1, 0))
    alike = np.sqrt((without * off**2).sum(axis=0) / np.maximum(without.sum(axis=0), 1e-9))
    found: list[Floats | None] = []
    for j, place in enumerate(base + steps[rank] * way):
        known = without[:, j].sum()
        doubted = seen[rank, j] < KNOWN and known > OTHERS and off[rank, j] > OFF_MM
        wrong = known > MANY and alike[j] < ALIKE_MM and off[rank, j] > FAR_OFF_MM
        found.append(np.asarray(place) if doubted or wrong else None)
    return found


def _lines(corners: Floats, weights: Floats, steps: Floats) -> tuple[Floats, Floats]:
    """For each corner where it begins and how it moves with each step, shape (corners, 2) twice: weighted least squares."""
    total = weights.sum(axis=0)
    middle = (weights * steps[:, None]).sum(axis=0) / total
    centre = (weights[..., None] * corners).sum(axis=0) / total[:, None]
    apart = steps[:, None] - middle
    spread = np.maximum((weights * apart**2).sum(axis=0), 1e-9)
    way = ((weights * apart)[..., None] * corners).sum(axis=0) / spread[:, None]
    return centre - middle[:, None] * way, way


def _surely(ink: Ink, line: SizeLine, at_start: bool, at_end: bool) -> Floats:
    """A line as far as it is seen and dashed as it should be, towards ends whose corners are moved: it may go on along another size's."""
    points = line.points[~ink.hidden(line.points)]
    if len(points) < 2:
        return points
    spots = at_lengths(points, np.arange(0.0, float(arc_length(points)[-1]), SPOT_MM))
    on, wide = drawn_at(ink, spots), round(WINDOW_MM / SPOT_MM)
    like = [
        start
        for start in range(0, max(1, len(on) - wide + 1), round(WINDOW_STEP_MM / SPOT_MM))
        if dash_of(on[start : start + wide]) == line.dash
    ]
    if not like:
        return points[:0]
    along = arc_length(points)
    first, last = like[0] * SPOT_MM if at_start else 0.0, (like[-1] + wide) * SPOT_MM if at_end else np.inf
    return np.asarray(points[(along >= first) & (along <= last)])


def _moved(edge: Floats, start: Floats, end: Floats) -> Floats:
    """Another size's edge brought to both ends of this one, what it is moved by changing evenly along it."""
    long = float(arc_length(edge)[-1])
    even = at_lengths(edge, np.linspace(0.0, long, max(6, round(long / ALONG_MM) + 1)))
    share = np.linspace(0.0, 1.0, len(even))[:, None]
    return np.asarray(even + (1 - share) * (start - edge[0]) + share * (end - edge[-1]))


def _led(model: Floats, line: Floats, at_start: bool, at_end: bool) -> Floats:
    """A line as it is seen, led on to the ends of its model as that runs; what it lies beside the model goes to nothing on the way."""
    if len(line) < 2:
        return model
    far = arc_length(model)
    off = [np.hypot(*(model - line[i]).T) for i in (0, -1)]
    if min(one.min() for one in off) > STRAY_MM:
        return model
    first, last = (int(np.argmin(one)) for one in off)
    before, after = model[:first], model[last + 1 :]
    before = before + (far[:first] / max(far[first], 1e-6))[:, None] * (line[0] - model[first])
    left = (far[-1] - far[last + 1 :]) / max(far[-1] - far[last], 1e-6)
    after = after + left[:, None] * (line[-1] - model[last])
    return np.vstack([*([before] if at_start else []), line, *([after] if at_end else [])])
