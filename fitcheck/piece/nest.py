"""What size lines run along: the outermost printed line of nested sizes in edges, parted where darts open on it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Point

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.corners import FIRST_WAVE_MM, parted, without_ends
from fitcheck.piece.darts import find_darts
from fitcheck.piece.ink import Ink
from fitcheck.piece.outer_line import outer_line
from fitcheck.piece.paper_edge import STEP_MM, USUAL_MM
from fitcheck.piece.size_lines import SHALLOWEST_MM
from fitcheck.piece.smooth import cornered, smooth_line

MARGIN_MM, LEAST_PART_MM = 75.0, 20.0  # of paper around the innermost size; of an edge beside a dart
BETWEEN_MM = 6.0  # of a printed line seen between two fingers: enough to go on from
CROSSING_MM, CROSSING_DEG = 12.0, 60.0  # beside a place where sizes cross; by how much the outermost line turns inwards there at most
OUTSIDE_MM = 6.0  # outside the outermost line as it was first seen: bridges are rough


@dataclass(frozen=True, slots=True)
class Nest:
    """What size lines run along: edges, which of them go with the one before, and how far outside them lines are looked for."""

    parts: list[Floats]
    again: list[int]
    shallowest_mm: float


def nest_of(ink: Ink, edges: list[Floats], drawn: Sequence[tuple[Floats, Floats]]) -> Nest:
    """The outermost printed line in edges; the sheet's own edges where none encloses the print.

    Parameters
    ----------
    edges : list of ndarray, shape (N, 2)
        Of the sheet, clockwise as seen.
    drawn : sequence of pairs of ndarray, shape (2,)
        Straight lines that are drawn.
    """
    sheet, shallowest_mm = np.vstack([edge[:-1] for edge in edges]), SHALLOWEST_MM
    found = outer_line(ink, sheet)
    if found is not None:
        stretches = _across_crossings(parted(*found, BETWEEN_MM)[0])
        edges = cornered([smooth_line(without_ends(line), STEP_MM, FIRST_WAVE_MM, USUAL_MM) for line in stretches])
        sheet, shallowest_mm = np.vstack([edge[:-1] for edge in edges]), -OUTSIDE_MM
    return Nest(*_parted_at_darts(edges, find_darts(ink, drawn, sheet, None, MARGIN_MM)), shallowest_mm)


def _across_crossings(stretches: list[Floats]) -> list[Floats]:
    """Stretches of the outermost line joined where it turns inwards a little: one size's line goes beneath another's there, and on."""
    found = [stretches[0]]
    for stretch in [*stretches[1:], stretches[0]]:
        before, after = (
            found[-1][-1] - at_lengths(found[-1][::-1], np.array([CROSSING_MM]))[0],
            at_lengths(stretch, np.array([CROSSING_MM]))[0] - stretch[0],
        )
        turn = np.degrees(np.arctan2(before[0] * after[1] - before[1] * after[0], float(before @ after)))
        if -CROSSING_DEG < turn < 0:
            found[-1] = np.vstack([found[-1][:-1], stretch])
        else:
            found.append(stretch)
    if len(found) < len(stretches) // 2:
        return stretches
    last = found.pop()
    if last is not stretches[0]:
        found[0] = last
    return found


def _parted_at_darts(edges: list[Floats], darts: Sequence[Floats]) -> tuple[list[Floats], list[int]]:
    """Edges of the paper parted where a dart opens on them, as size lines leap there; and which parts go with the one before."""
    parts: list[Floats] = list(edges)
    again: list[int] = []
    for dart in darts:
        for i, edge in enumerate(parts):
            path = LineString(edge)
            at = sorted(path.project(Point(*dart[k])) for k in (0, 2))
            if max(path.distance(Point(*dart[k])) for k in (0, 2)) > 1.0 or at[0] < LEAST_PART_MM or path.length - at[1] < LEAST_PART_MM:
                continue
            along = arc_length(edge)
            parts[i : i + 1] = [at_lengths(edge, _evenly(0.0, at[0])), at_lengths(edge, _evenly(at[1], float(along[-1])))]
            again = [k + (k > i) for k in again] + [i + 1]
            break
    return parts, again


def _evenly(start: float, end: float) -> Floats:
    return np.linspace(start, end, max(6, round((end - start) / STEP_MM) + 1))
