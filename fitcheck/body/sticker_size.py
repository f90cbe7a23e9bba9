"""Stickers as a check on the scale card: both are printed to a known size, so a card printed at 95 % shows."""

from collections.abc import Sequence

import numpy as np

from fitcheck.core.points import POINT_BORDER_MM, POINT_MARKER_MM
from fitcheck.core.records import Sighting, View
from fitcheck.core.solution import Solution

FEWEST = 4
FEWEST_VIEWS = 2  # one photo alone knows its distance, and with it a sticker's size, only to a percent or two
USUAL = 0.98  # stickers bend and lie aslant; over our scenes 0.973 to 0.991, with the card at 97 % 1.001 to 1.019
DIFFERS = 0.02


def sticker_ratio(body: Solution, seen: Sequence[Sighting]) -> float | None:
    """Measured over printed size, median over the stickers that face the camera; None where fewer than four do, or in one photo only.

    A slanted square looks smaller one way, so its longer side counts.
    """
    ratios: dict[View, list[float]] = {}
    for s in seen:
        if s.corners_px is None or s.kind != "centred" or s.flags or (s.name, s.side) not in body or s.view not in body.views:
            continue
        sides = np.linalg.norm(np.roll(s.corners_px, -1, axis=0) - s.corners_px, axis=1)
        across, along = np.sort([(sides[0] + sides[2]) / 2, (sides[1] + sides[3]) / 2])
        if across > 0.9 * along:
            mm = body.views[s.view].mm_per_px(body.position(s.name, s.side))
            ratios.setdefault(s.view, []).append(along * mm / (POINT_MARKER_MM + 2 * POINT_BORDER_MM))
    every = [ratio for of_view in ratios.values() for ratio in of_view]
    return float(np.median(every)) if len(every) >= FEWEST and len(ratios) >= FEWEST_VIEWS else None


def unlike_the_card(ratio: float | None) -> float:
    """By how much (a share) stickers and card cannot both have been printed at full size; 0 where they can."""
    off = 0.0 if ratio is None else abs(ratio / USUAL - 1)
    return off if off > DIFFERS else 0.0
