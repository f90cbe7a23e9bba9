"""The solved geometry of one fitting: points of body and garment in the body frame, with their joint uncertainty.

The joint adjustment (`body.adjust`) is a linearised least-squares problem whose whitened rows each carry the name of a source of
doubt. Any quantity computed from the points therefore has a variance that splits exactly into those sources, and what two points
share cancels in their difference (law of propagation of uncertainty with correlated input quantities, JCGM 100:2008, 5.2).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats, Side, View

PointKey = tuple[str, Side | None]
STEP_MM = 0.01  # for slopes: far above rounding, far below any bend of a formula
LEAST_SD = 1e-4  # mm or degrees; a source that adds less is not named


@dataclass(frozen=True, slots=True)
class Tie:
    """A point that lies near a body point: `point - anchor` is `offset_mm` with standard deviation `sd_mm`, each (3,).

    `offset_mm` is that of a woman of 1650 mm. A point `on_floor` has its height above the floor as the second number instead. By
    `swing`, (3,), of the way from the anchor to the point `swung_by` it lies further that way, along each axis. `alike`, (3,), is how alike
    the point of the same name on the other side strays (a correlation; sideways counted outwards).
    """

    point: PointKey
    anchor: PointKey
    offset_mm: Floats
    sd_mm: Floats
    on_floor: bool = False
    swung_by: PointKey | None = None
    swing: Floats = field(default_factory=lambda: np.zeros(3))
    alike: Floats = field(default_factory=lambda: np.zeros(3))


@dataclass(frozen=True, slots=True)
class Derived:
    """A computed number with its standard uncertainty, split by source (the squares of `sources` sum to `sd` squared).

    `errors`, (R,), are what each row of the adjustment adds: the covariance of two numbers of one solution is the product of theirs.
    """

    value: float
    sd: float
    sources: dict[str, float]
    errors: Floats = field(default_factory=lambda: np.zeros(0))


@dataclass(frozen=True, slots=True)
class ViewPlacement:
    """How the body stands before the camera of one view: pixel = projection of `rotation @ point + translation_mm`.

    Attributes
    ----------
    rotation : ndarray, shape (3, 3)
        Body frame to camera.
    translation_mm : ndarray, shape (3,)
    matrix : ndarray, shape (3, 3)
        Intrinsics, pixels (the photo's own distortion is not in them).
    """

    rotation: Floats
    translation_mm: Floats
    matrix: Floats

    def project(self, points_mm: Floats) -> Floats:
        """Pixels, shape (N, 2), of body-frame points, shape (N, 3)."""
        camera = np.atleast_2d(points_mm) @ self.rotation.T + self.translation_mm
        return np.asarray(camera[:, :2] / camera[:, 2:] * self.matrix[[0, 1], [0, 1]] + self.matrix[:2, 2])

    def mm_per_px(self, point_mm: Floats) -> float:
        """Millimetres that one pixel covers at a body-frame point, shape (3,)."""
        return float((self.rotation @ point_mm + self.translation_mm)[2] / self.matrix[0, 0])


@dataclass(frozen=True)
class Solution:
    """Result of the joint adjustment.

    Attributes
    ----------
    keys : tuple of (name, side)
        Points in the order of `positions_mm`, shape (N, 3).
    rows : ndarray, shape (R, P)
        Whitened design matrix; the first 3 N parameters are the points.
    row_sources : tuple of str, length R
    normal : ndarray, shape (P, P)
        Matrix of the normal equations.
    views : dict of view to ViewPlacement
    turn_columns : dict of view to int
        Parameter number of each view's turn (radians).
    parameters : ndarray, shape (P,)
    misfit : float
        Sum of the squared whitened residuals, single wild ones capped: how ill all that is seen agrees.
    strain : float
        By what all doubts are multiplied where what is seen agrees worse than they say (Birge 1932, "The Calculation of Errors by
        the Method of Least Squares").
    hang : ndarray, shape (C,)
        How the garment hangs off the body, each number in standard deviations of usual garments.
    stand_offs_mm : dict of (name, side) to float
        How far the sticker on a point stands off the skin.
    section_heights_mm : ndarray, shape (L,)
        Heights of the trunk's sections, rising; none where the body's form was not solved for.
    section_reach_mm : ndarray, shape (L, D)
        How far the dressed trunk reaches there from the body's axis, in D directions evenly around from her left by way of the front.
    """

    keys: tuple[PointKey, ...]
    positions_mm: Floats
    rows: Floats
    row_sources: tuple[str, ...]
    normal: Floats
    views: dict[View, ViewPlacement]
    turn_columns: dict[View, int]
    parameters: Floats
    misfit: float = 0.0
    strain: float = 1.0
    hang: Floats = field(default_factory=lambda: np.zeros(0))
    stand_offs_mm: dict[PointKey, float] = field(default_factory=dict)
    section_heights_mm: Floats = field(default_factory=lambda: np.zeros(0))
    section_reach_mm: Floats = field(default_factory=lambda: np.zeros((0, 0)))

    @cached_property
    def covariance(self) -> Floats:
        """Covariance (P, P) of all parameters; whoever asks for places only need not wait for it."""
        return np.asarray(np.linalg.inv(self.normal), np.float64)

    def __contains__(self, key: object) -> bool:
        return key in self.keys

    def position(self, name: str, side: Side | None = None) -> Floats:
        """Position (3,) of one point, mm."""
        return np.asarray(self.positions_mm[self.keys.index((name, side))])

    def sd(self, name: str, side: Side | None = None) -> Floats:
        """Standard uncertainty (3,) of one point, mm."""
        first = 3 * self.keys.index((name, side))
        return np.asarray(self.strain * np.sqrt(np.diag(self.covariance)[first : first + 3]))

    def reach_mm(self, height_mm: float, quarter: int) -> float:
        """How far the dressed trunk reaches at a height (the nearest section's beyond the ends), from the body's axis.

        Parameters
        ----------
        height_mm : float
        quarter : int
            Quarter turns from her left by way of the front: 0 to her left, 1 forward, 2 to her right, 3 backward.
        """
        around = self.section_reach_mm.shape[1]
        return float(np.interp(height_mm, self.section_heights_mm, self.section_reach_mm[:, quarter * around // 4]))

    def derive(self, function: Callable[..., float], keys: Sequence[PointKey]) -> Derived:
        """Value and uncertainty of `function(*positions)`, each position of shape (3,) in the order of `keys`.

        The gradient is taken by central differences of 0.01 mm.
        """
        index = [self.keys.index(key) for key in keys]
        at = [self.positions_mm[i].copy() for i in index]
        gradient = np.zeros(self.rows.shape[1])
        for position, i in zip(at, index, strict=True):
            for axis in range(3):
                keep = position[axis]
                position[axis] = keep + STEP_MM
                above = function(*at)
                position[axis] = keep - STEP_MM
                below = function(*at)
                position[axis] = keep
                gradient[3 * i + axis] += (above - below) / (2 * STEP_MM)
        return self._propagate(float(function(*at)), gradient)

    def turn_deg(self, view: View) -> Derived:
        """Turn of the body from the nominal direction of a view, degrees, counter-clockwise seen from above."""
        gradient = np.zeros(self.rows.shape[1])
        gradient[self.turn_columns[view]] = np.degrees(1.0)
        return self._propagate(float(np.degrees(self.parameters[self.turn_columns[view]])), gradient)

    def _propagate(self, value: float, gradient: Floats) -> Derived:
        used = np.flatnonzero(gradient)  # a few points of many
        errors = self.strain * (self.rows @ (self.covariance[:, used] @ gradient[used]))
        names, group = _grouped(self.row_sources)
        sds = np.sqrt(np.bincount(group, weights=errors**2))
        sources = {name: float(sd) for name, sd in zip(names, sds, strict=True) if sd > LEAST_SD}
        return Derived(value, float(np.linalg.norm(errors)), sources, errors)


@lru_cache(maxsize=4)
def _grouped(sources: tuple[str, ...]) -> tuple[tuple[str, ...], NDArray[np.intp]]:
    """The names of the sources, and the number of each row's."""
    names, group = np.unique(sources, return_inverse=True)
    return tuple(str(name) for name in names), group
