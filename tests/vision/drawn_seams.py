"""Straight drawn lines in a trunk frame of round numbers."""

import numpy as np

from fitcheck.vision.cloth.trunk_frame import TrunkFrame
from fitcheck.vision.trace.curves import Curve


def straight(first: tuple[float, float], last: tuple[float, float], change: tuple[float, float, float] = (-0.6, 0.8, 0.5)) -> Curve:
    points = np.linspace(first, last, max(2, int(np.hypot(last[0] - first[0], last[1] - first[1]) / 2)))
    return Curve(points, np.ones(len(points), bool), 0.4, np.array(change), 0.0)


def frame(view: str) -> TrunkFrame:
    """Shoulders at y 200, hips at y 700, garment from x 300 to 700 (front), 400 to 620 (side).

    From the front and the back it narrows above the shoulder points, which lie inside the joints, to the
    neck: a shoulder seam runs from (430, 128) to (335, 163).
    """
    if view not in ("front", "back"):
        return TrunkFrame(view, np.array([500.0, 200.0]), 10.0, 500.0, np.tile([400.0, 620.0], (1000, 1)), 0.9)
    half = np.clip(174 + (np.arange(1000) - 163) * 95 / 35, 40, 200)
    return TrunkFrame(view, np.array([500.0, 200.0]), 170.0, 500.0, np.stack([500 - half, 500 + half], axis=1), 0.9)
