"""What is printed on the paper: how much darker thin lines are than the tissue around them."""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.piece.cover import Cover
from fitcheck.piece.table import Picture, Table

MM_PER_PX = 0.25
WIDEST_MM = 2.0  # of a printed line; creases and shades are wider
LINE_MM, LINE_STEP_DEG = 20.0, 6  # of a straight stretch that is a drawn line, whichever way it runs
FULL_PERCENTILE = 99.7  # of the darkness on the paper: that of print


@dataclass(frozen=True, slots=True)
class Ink:
    """Darkness of thin lines, 0 to about 1, on a raster of the table.

    Attributes
    ----------
    dark : ndarray of float32, shape (H, W)
    picture : Picture
        The same part in colour.
    full : float
        By what share print is darker than tissue: what 1 stands for.
    cover : Cover or None
        What lies on the paper; nothing is dark there.
    """

    dark: NDArray[np.float32]
    picture: Picture
    full: float
    cover: Cover | None = None

    def hidden(self, points: Floats) -> NDArray[np.bool_]:
        """Whether something lies on places of any shape (..., 2)."""
        return np.zeros(points.shape[:-1], np.bool_) if self.cover is None else self.cover.at(points)

    def at(self, points: Floats) -> NDArray[np.float32]:
        """At places of any shape (..., 2)."""
        px = self.picture.to_px(points.reshape(-1, 2)).astype(np.float32)
        wide = min(max(len(px), 1), 8192)  # a map may have no longer side than 32767
        pad = (-len(px)) % wide
        maps = np.pad(px, ((0, pad), (0, 0)), constant_values=-9).reshape(-1, wide, 2)
        found = cv2.remap(self.dark, maps, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
        return np.asarray(found.reshape(-1)[: len(px)].reshape(points.shape[:-1]), np.float32)


def find_ink(table: Table, paper: Floats, cover: Cover | None = None) -> Ink:
    """Thin dark lines on a sheet of paper, whose outline is given (N, 2), but for what lies on it."""
    picture = table.picture(MM_PER_PX, paper.min(axis=0) - 2, paper.max(axis=0) + 2)
    grey = cv2.cvtColor(picture.rgb, cv2.COLOR_RGB2GRAY)
    size = 2 * round(WIDEST_MM / MM_PER_PX / 2) + 1
    closed = cv2.morphologyEx(grey, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8))
    dark = (closed.astype(np.float32) - grey) / np.maximum(closed, 20)
    inside = np.zeros(grey.shape, np.uint8)
    cv2.fillPoly(inside, [np.round(picture.to_px(paper)).astype(np.int32)], 1)
    inside = cv2.erode(inside, np.ones((7, 7), np.uint8))
    if cover is not None:
        inside[cover.over(grey.shape, picture.low, MM_PER_PX)] = 0
    dark *= inside
    sample = dark[::3, ::3][inside[::3, ::3] > 0]
    full = float(np.percentile(sample, FULL_PERCENTILE)) if sample.size else 1.0
    noise = float(np.median(sample)) if sample.size else 0.0
    span = max(full - noise, 0.04)
    return Ink(np.clip((dark - noise) / span, 0, 1.3).astype(np.float32), picture, span, cover)


def darkest_line(ink: Ink, inside: NDArray[np.uint8]) -> float:
    """By what share the darkest straight stretch of `LINE_MM` is darker than the tissue beside it.

    Parameters
    ----------
    inside : ndarray of uint8, shape (H, W)
        1 where it is looked for.
    """
    within = ink.dark * inside
    size = 2 * round(LINE_MM / MM_PER_PX / 2) + 1
    best = 0.0
    for deg in range(0, 180, LINE_STEP_DEG):
        arm = np.array([math.cos(math.radians(deg)), math.sin(math.radians(deg))]) * (size // 2)
        kernel = np.zeros((size, size), np.float32)
        one, two = (tuple(np.round(size // 2 + sign * arm).astype(int).tolist()) for sign in (-1, 1))
        cv2.line(kernel, one, two, 1.0, 1)
        best = max(best, float(cv2.filter2D(within, -1, kernel / kernel.sum()).max()))
    return best * ink.full
