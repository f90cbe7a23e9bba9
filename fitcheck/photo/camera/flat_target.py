"""Where a flat target, the scale card or a sheet, is expected in the picture, and how its corners or edges move with each unknown.

The unknowns of a fit: turn (Rodrigues vector, 3), place in the picture (2), log size there, inset, k1, log focal length, log aspect.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.core.camera import pinhole
from fitcheck.core.records import Floats
from fitcheck.photo.camera.lens import NO_HIGHER

SIZE, INSET, K1, FOCAL, ASPECT = 5, 6, 7, 8, 9  # places of these unknowns; before them turn and place


@dataclass(frozen=True, slots=True)
class Corners:
    """Corners of N dark quadrilaterals, in turn around each.

    Attributes
    ----------
    mm : ndarray, shape (N, 4, 2)
        Target frame, x right, y up.
    px : ndarray, shape (N, 4, 2)
        Where they are seen.
    """

    mm: Floats
    px: Floats


@dataclass(frozen=True, slots=True)
class Edges:
    """N straight edges between black and white, each known across its run only.

    Attributes
    ----------
    middles_mm : ndarray, shape (N, 2)
        Target frame.
    found_px : ndarray, shape (N, 2)
        Picture points on the edges, near their middles.
    normals : ndarray, shape (N, 2)
        Unit vectors in the picture, across the edge from black to white.
    """

    middles_mm: Floats
    found_px: Floats
    normals: Floats


class FlatTarget:
    """Where the target's corners, or its edges' middles, are expected for given unknowns, and how they move with each.

    Of an edge only what lies along its normal counts.
    """

    def __init__(
        self,
        flat_mm: Floats,
        seen: Floats,
        inward: Floats,
        picture_size: tuple[int, int],
        focal_px: float,
        higher: Sequence[float] = NO_HIGHER,
        normals: Floats | None = None,
    ) -> None:
        self.flat_mm = flat_mm
        self.seen = seen
        self.inward = inward
        self.normals = normals
        self.higher = higher
        self.picture_size = picture_size
        self.focal_px = focal_px

    def matrix(self, log_focal: float) -> Floats:
        return pinhole(self.focal_px * math.exp(log_focal), self.picture_size)

    def lens(self, k1: float) -> Floats:
        return np.array([k1, *self.higher], np.float64)

    def solid(self, log_aspect: float) -> Floats:
        return np.column_stack([self.flat_mm * [1, math.exp(log_aspect)], np.zeros(len(self.flat_mm))])

    def misfit(self, x: Floats, depth_mm: float) -> tuple[Floats, Floats]:
        """Pixels by which the target is expected elsewhere than it is seen, shape (2 N,), of edges (N,); how they change with each unknown,
        shape (2 N, 10), of edges (N, 10)."""
        places, by = self.expected(x, depth_mm)
        off = places - self.seen
        if self.normals is None:
            return off.ravel(), by
        return (off * self.normals).sum(axis=1), np.einsum("nc,nck->nk", self.normals, by.reshape(-1, 2, by.shape[1]))

    def expected(self, x: Floats, depth_mm: float) -> tuple[Floats, Floats]:
        """Expected places, shape (N, 2), and their slopes, shape (2 N, 10)."""
        shift, matrix, solid = translation(x, depth_mm), self.matrix(x[FOCAL]), self.solid(x[ASPECT])
        points, by = cv2.projectPoints(solid, x[:3], shift, matrix, self.lens(x[K1]))  # columns: turn 3, shift 3, focal 2, centre 2, lens 5
        by_shift, by_focal, by_k1 = by[:, 3:6], by[:, 6:8].sum(1), by[:, 10]
        upright = np.repeat(solid[:, 1:2] * cv2.Rodrigues(x[:3])[0][:, 1], 2, axis=0)  # what stretching adds to each corner's place
        slopes = np.column_stack(
            [
                by[:, :3],
                by_shift[:, :2] * (depth_mm * math.exp(x[SIZE])),
                by_shift @ shift,
                self.inward.ravel(),
                by_k1,
                by_shift[:, 2] * shift[2] + by_focal * matrix[0, 0],
                (by_shift * upright).sum(1),
            ]
        )
        return points.reshape(-1, 2) + self.inward * x[INSET], slopes


def translation(x: Floats, depth_mm: float) -> Floats:
    """x[3:5] is the target's place in the picture and x[5] its log size there, so that a longer lens only moves it away."""
    return depth_mm * math.exp(x[SIZE]) * np.array([x[3], x[4], math.exp(x[FOCAL])])


def inward(corners_px: Floats) -> Floats:
    """How each corner moves when every side of its quadrilateral moves in by one pixel (sides taken as square to each other)."""
    to_next = np.roll(corners_px, -1, axis=1) - corners_px
    to_last = np.roll(corners_px, 1, axis=1) - corners_px
    unit: Floats = to_next / np.linalg.norm(to_next, axis=2, keepdims=True) + to_last / np.linalg.norm(to_last, axis=2, keepdims=True)
    return unit
