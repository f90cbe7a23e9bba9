"""Colours as log brightness and two log colour ratios, which light and shade leave as they are."""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.light import FULL
from fitcheck.core.records import Floats

ADDED = 6.0  # to every grey level: keeps noise in the dark from growing without bound (estimate)
FULL_LIGHT = FULL + ADDED
_LOG = np.log((np.arange(FULL + 1, dtype=np.float32) + ADDED) / FULL_LIGHT)  # of each grey level
_RATIOS = np.array([[1 / 3, 1 / 3, 1 / 3], [1, -1, 0], [0.5, 0.5, -1]], np.float32)  # of the logs of red, green and blue

# where pens are compared: brightness counts half, as shade changes it far more than any pen changes the ratios (estimate)
COLOUR_WEIGHTS = np.array([0.5, 1.0, 1.0])


def log_colour(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Log brightness and two log colour ratios (red to green, yellow to blue), shape (H, W, 3).

    A change of light adds the same number to the log of all three colours, so it leaves the ratios as they are.
    """
    return np.asarray(cv2.transform(cv2.LUT(rgb, _LOG), _RATIOS), np.float32)


def to_rgb(colour: Floats) -> Floats:
    """Grey levels (with `ADDED`) of log colours (..., 3)."""
    return np.asarray(FULL_LIGHT * np.exp(colour @ np.linalg.inv(_RATIOS).T))


def from_rgb(rgb: Floats) -> Floats:
    """The reverse of `to_rgb`."""
    return np.asarray(np.log(rgb / FULL_LIGHT) @ _RATIOS.T)


def darkest_grey(colour: NDArray[Any]) -> NDArray[Any]:
    """Grey level (with `ADDED`) of the darkest of red, green and blue of log colours (..., 3)."""
    light, red, yellow = colour[..., 0], colour[..., 1], colour[..., 2]
    return np.asarray(FULL_LIGHT * np.exp(light + np.minimum(yellow / 3 - np.abs(red) / 2, -2 * yellow / 3)))
