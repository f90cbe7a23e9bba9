"""How far every pixel lies from drawn curves, to a fraction of a pixel: what the targets of the network are made from."""

from collections.abc import Iterable
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

FINE = 4  # curves are drawn this many times finer
NOWHERE = 1e3
STEPS, FARTHEST_PX = 16.0, 15.9  # stored steps per pixel, and how far they reach


def away_px(curves: Iterable[NDArray[Any]], shape: tuple[int, int]) -> NDArray[np.float32]:
    """Distance of each pixel centre from the nearest of the curves (N, 2), pixels; NOWHERE if there is no curve."""
    drawn = np.ones((FINE * shape[0], FINE * shape[1]), np.uint8)
    for curve in curves:
        cv2.polylines(drawn, [np.round(((curve + 0.5) * FINE - 0.5) * 16).astype(np.int32)], False, 0, 1, shift=4)
    if drawn.all():
        return np.full(shape, NOWHERE, np.float32)
    away = cv2.distanceTransform(drawn, cv2.DIST_L2, 5)
    return np.asarray(sum(away[i::FINE, j::FINE] for i in (1, 2) for j in (1, 2)) / (4 * FINE), np.float32)  # the four about its centre


def stored(away: NDArray[Any]) -> NDArray[np.uint8]:
    """Distances as they are stored."""
    return np.asarray(np.round(np.minimum(away, FARTHEST_PX) * STEPS), np.uint8)
