"""Stretches of an outline beneath what lies on it: how long they are, and how far off what was drawn there may be."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.ink import Ink
from fitcheck.piece.paper_edge import outwards

STEP_MM = 1.0
BETWEEN_MM, LEAST_MM = 6.0, 2.0  # seen between two stretches that are then one; of a stretch
BEND_MM = 150.0  # radius of the bend that may come or go unseen beneath a hand: half of it lies in an armhole (estimate)
CORNER_SHARE = 0.25  # of a stretch's length, by which a corner in it may be off (drawn sheets with hands on their corners)
AT_LEAST_MM = 0.5
AT_CORNER_MM = 10.0  # from a stretch, where a corner of it depends on it
ASIDE_MM, LEAST_INK = (-0.8, -0.4, 0.0, 0.4, 0.8), 0.3  # beside the outline, where its line may be printed; of print's darkness


@dataclass(frozen=True, slots=True)
class Bridged:
    """A stretch of which nothing is seen.

    Attributes
    ----------
    points : ndarray, shape (N, 2)
        As it is drawn, mm.
    doubt_mm : float
        How far off it may be.
    """

    points: Floats
    doubt_mm: float


def bridged_stretches(ink: Ink, edges: Sequence[Floats], printed: bool) -> tuple[Bridged, ...]:
    """The stretches of an outline on which something lies, in order.

    Parameters
    ----------
    edges : sequence of ndarray, shape (N, 2)
        Each begins where the one before ends.
    printed : bool
        The outline is a printed line: beside what lies on it, it is bridged as far as none is printed where it is drawn.
    """
    line = np.vstack([*(edge[:-1] for edge in edges), edges[0][:1]])
    total = float(arc_length(line)[-1])
    along = np.arange(0.0, total, STEP_MM)
    even = at_lengths(line, along)
    dark = ink.hidden(even)
    if printed and dark.any():
        _, labels = cv2.connectedComponents((dark | ~_printed(ink, even)).astype(np.uint8)[None])
        dark = np.isin(labels[0], labels[0][dark])
    if not dark.any() or dark.all():
        return (Bridged(line, _doubt_mm(total, True)),) if dark.any() else ()
    corners = np.cumsum([float(arc_length(edge)[-1]) for edge in edges])
    first = int(np.flatnonzero(~dark)[0])
    runs = np.flatnonzero(np.diff(np.pad(np.roll(dark, -first).astype(int), 1))).reshape(-1, 2)
    joined: list[list[int]] = []
    for start, end in runs.tolist():
        if joined and (start - joined[-1][1]) * STEP_MM < BETWEEN_MM:
            joined[-1][1] = end
        else:
            joined.append([start, end])
    found = []
    for start, end in joined:
        if (end - start) * STEP_MM >= LEAST_MM:
            index = (np.arange(start, end) + first) % len(even)
            turns = bool((np.abs(along[index][:, None] - corners % total) < AT_CORNER_MM).any())
            found.append(Bridged(even[index], _doubt_mm((end - start) * STEP_MM, turns)))
    return tuple(found)


def _printed(ink: Ink, even: Floats) -> NDArray[np.bool_]:
    """Whether a line is printed along places `STEP_MM` apart, gaps between dashes filled."""
    aside = outwards(even)
    on = np.max([ink.at(even + off * aside) for off in ASIDE_MM], axis=0) > LEAST_INK
    closing = np.ones((1, 2 * round(BETWEEN_MM / STEP_MM / 2) + 1), np.uint8)
    return np.asarray(cv2.morphologyEx(on.astype(np.uint8)[None], cv2.MORPH_CLOSE, closing)[0] > 0)


def _doubt_mm(long_mm: float, turns: bool) -> float:
    """Of a stretch with a corner in it, and of one that runs on."""
    return max(AT_LEAST_MM, CORNER_SHARE * long_mm if turns else long_mm**2 / (8 * BEND_MM))


def hidden_note(bridged: Sequence[Bridged]) -> str:
    """What is told of it."""
    long = sum(len(one.points) for one in bridged) * STEP_MM
    return (
        f"Part of the edge, {long:.0f} mm, was hidden and is drawn as it goes on beside that: it may be up to "
        f"{max(one.doubt_mm for one in bridged):.1f} mm off. Photograph it again with nothing on the edge, or check that part."
    )
