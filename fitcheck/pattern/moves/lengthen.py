"""A piece opened or folded across, or drawn longer below a level."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from shapely import LineString, Polygon

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import line
from fitcheck.pattern.piece import Mark, Piece, arrow

_BESIDE_MM = 14.0  # the arrow stands beside the piece


def opened_across(piece: Piece, level: float, at_centre: float, at_side: float, width: float) -> Piece:
    """A level cut opened (or folded) by one amount at the centre line and one at the side; what lies below moves as one.

    Parameters
    ----------
    width : float
        Where `at_side` holds, from the centre line, and beyond.
    """
    left, _, right, _ = Polygon(piece.outline).intersection(LineString([(-900, level), (900, level)])).bounds

    def far(x: Floats) -> Floats:
        found: Floats = np.interp(x, [0.0, width], [at_centre, at_side])
        return found

    def moved(points: Floats) -> Floats:
        x, y = points.T
        found: Floats = np.column_stack([x, np.where(y > level, np.maximum(y + far(x), level), y)])  # what is folded out lies on the cut
        return found

    ends = np.array([left, right])
    below = level + far(ends)
    area = np.array([[left, level], [right, level], [right, below[1]], [left, below[0]]])
    most = int(abs(below[1] - level) > abs(below[0] - level))
    beside = ends[most] + (_BESIDE_MM if most else -_BESIDE_MM)
    marks = [Mark("cut", line((left, level), (right, level))), Mark("gap" if below[most] > level else "lap", area)]
    marks += [Mark("hinge", line((x, level))) for x, y in zip(ends, below, strict=True) if abs(y - level) < 0.5]
    marks += [arrow(np.array([beside, level]), np.array([beside, below[most]]))]
    return _moved(piece, moved, *marks)


def lengthened(piece: Piece, level: float, by: float) -> Piece:
    """Opened by the same amount from edge to edge."""
    return opened_across(piece, level, by, by, 1.0)


def redrawn_hem(piece: Piece, start: float, hem: float, at_centre: float, at_side: float, centre: float, side: float) -> Piece:
    """The hem raised or lowered by shares between a centre and a side line, all above a level as it was.

    Parameters
    ----------
    start, hem : float
        Levels: nothing above the first, all at the second.
    centre, side : float
        Where (x) the two amounts hold; straight between, as much beyond.
    """

    def moved(points: Floats) -> Floats:
        down = np.clip((points[:, 1] - start) / (hem - start), 0, 1)
        across = np.interp(points[:, 0], [centre, side], [at_centre, at_side])
        found: Floats = points + np.outer(down * across, [0.0, 1.0])
        return found

    ends = piece.edges["hem"][[-1, 0]]
    moves = moved(ends) - ends
    most = int(np.argmax(abs(moves[:, 1]) - [0.0, 1e-6]))
    return _moved(piece, moved, arrow(ends[most], ends[most] + moves[most]))


def _moved(piece: Piece, moved: Callable[[Floats], Floats], *marks: Mark) -> Piece:
    edges = {edge: moved(points) for edge, points in piece.edges.items()}
    inner = {name: moved(points) for name, points in piece.inner.items()}
    return replace(piece, edges=edges, inner=inner, marks=(*piece.marks, *marks))
