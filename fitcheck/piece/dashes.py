"""How a printed line is dashed."""

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

Dash = Literal["solid", "long", "short", "dotted", "dash_dot"]
DASHES: tuple[Dash, ...] = ("solid", "long", "short", "dotted", "dash_dot")
DASH_WORDS: dict[Dash, str] = {
    "solid": "solid line",
    "long": "long dashes",
    "short": "short dashes",
    "dotted": "dots",
    "dash_dot": "dashes and dots",
}
SPOT_MM = 0.25  # along a line, for its dashes
SOLID_SHARE, DOT_MM, SHORT_MM = 0.93, 2.3, 6.4  # of the length; longest dot, longest short dash
WINDOW_MM, WINDOW_STEP_MM = 30.0, 6.0  # twice the longest pattern, so that it tells its dashes; from one look at a line to the next
BOTH_SHARE = 0.22  # of its dashes that must be dots, and must be long, in a line of dashes and dots


def dash_of(on: NDArray[np.bool_]) -> Dash:
    """How a line is dashed, from what is dark along it every `SPOT_MM`."""
    closed = cv2.morphologyEx(on.astype(np.uint8)[None], cv2.MORPH_CLOSE, np.ones((1, 3), np.uint8))[0] > 0
    if closed.mean() > SOLID_SHARE:
        return "solid"
    change = np.flatnonzero(np.diff(closed.astype(int)))
    starts = change[~closed[change]] + 1
    lengths = np.array([int(np.argmin(closed[s:])) if not closed[s:].all() else 0 for s in starts]) * SPOT_MM
    lengths = lengths[lengths > 0.4]
    if not len(lengths):
        return "solid"
    dots, dashes = float((lengths < DOT_MM).mean()), float((lengths > DOT_MM + 1.5).mean())
    if dots > BOTH_SHARE and dashes > BOTH_SHARE:
        return "dash_dot"
    middle = float(np.median(lengths))
    return "dotted" if middle < DOT_MM else "short" if middle < SHORT_MM else "long"


def shares_of(on: NDArray[np.bool_]) -> dict[Dash, float]:
    """Of what share of its length a line is dashed in which way: 1 in all."""
    wide, step = round(WINDOW_MM / SPOT_MM), round(WINDOW_STEP_MM / SPOT_MM)
    seen = [dash_of(on[start : start + wide]) for start in range(0, max(1, len(on) - wide + 1), step)]
    return {dash: seen.count(dash) / len(seen) for dash in DASHES if dash in seen}
