"""One statistical body for all views: where the named points and the trunk's outline lie together, as a few numbers say.

Learnt from several thousand posed bodies of an open parametric model (`models/body_shape`): a mean and a few dozen directions in which
women and their postures differ, for the points and for the support function of the trunk's sections. The support function h(level,
direction) is how far the section at that level reaches in that direction; an outline ray at right angles to the direction touches the
section when it passes the axis at just that distance, seen from anywhere. Levels are counted between hip, waist, bust and neck, which
the same numbers place, so that a higher bust moves the outline up instead of changing its form.
Method: active shape model (Cootes et al. 1995, "Active Shape Models - Their Training and Application"), support function of a convex set
(Schneider 2014, "Convex Bodies: The Brunn-Minkowski Theory", 1.7).
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import SIDES, Floats
from fitcheck.core.solution import PointKey
from fitcheck.core.weights import weights

STATURE_MM = 1650.0  # the size at which the model is written
# The heights between which levels are counted, each the mean of these points; the first is the floor.
KNOTS = ((), ("hip_side",), ("waist_side", "waist_front", "waist_back"), ("bust_point",), ("back_neck_point",), ("crown",))
HEIGHT = 1
# Standard deviations within which the largest of a body's numbers lies for nine of ten women like those learnt from, once solved; further
# out the model is a guess.
USUAL = 2.7


@dataclass(frozen=True, slots=True)
class Support:
    """The support function at M places, mm at the model's stature.

    Attributes
    ----------
    mm, sd_mm : ndarray, shape (M,)
        Of the garment, or of the skin where none is worn, and how far body and cloth stray from the model there.
    by_shape : ndarray, shape (M, K)
    by_cloth : ndarray, shape (M, C)
    by_height, by_direction : ndarray, shape (M,)
        Derivatives, per mm and per radian.
    worn : ndarray, shape (M,)
        1 where the garment covers, 0 where it does not reach.
    level : ndarray, shape (M,)
        In knots, see `KNOTS`.
    inside : ndarray of bool, shape (M,)
        Whether the height lies within the model.
    """

    mm: Floats
    sd_mm: Floats
    by_shape: Floats
    by_cloth: Floats
    by_height: Floats
    by_direction: Floats
    worn: Floats
    level: Floats
    inside: NDArray[np.bool_]

    def parted(self, sizes: Sequence[int]) -> list["Support"]:
        """The same in parts, each of so many places."""
        ends = np.cumsum(sizes)
        whole = [getattr(self, one.name) for one in fields(self)]
        return [Support(*(values[end - size : end] for values in whole)) for size, end in zip(sizes, ends, strict=True)]

    def bare(self, skin: "Support", where: NDArray[np.bool_]) -> "Support":
        """The same with the skin's own where nothing is worn."""

        def chosen(mine: Floats, own: Floats) -> Floats:
            return np.asarray(np.where(where if mine.ndim == 1 else where[:, None], own, mine))

        return replace(
            self,
            mm=chosen(self.mm, skin.mm),
            by_shape=chosen(self.by_shape, skin.by_shape),
            by_cloth=chosen(self.by_cloth, np.zeros_like(self.by_cloth)),
            by_height=chosen(self.by_height, skin.by_height),
            by_direction=chosen(self.by_direction, skin.by_direction),
            worn=chosen(self.worn, np.zeros_like(self.worn)),
        )


@dataclass(frozen=True, slots=True)
class BodyShape:
    """The model: everything is mean + basis @ numbers, the numbers independent with mean 0 and standard deviation 1.

    Attributes
    ----------
    keys : tuple of (name, side), length N
    points, points_sd : ndarray, shape (N, 3)
        Body frame at stature 1650 mm, and what the basis leaves over.
    points_basis : ndarray, shape (N, 3, K)
    levels : ndarray, shape (L,)
        In knots: 1 is the hip, 2 the waist, 3 the bust, 4 the back of the neck.
    hull, hull_sd : ndarray, shape (L, D)
        Support function of the skin for D directions evenly around, from the wearer's left by way of the front.
    cloth, cloth_sd : ndarray, shape (L, D)
        How far the garment lies outside the skin, bridging its hollows, and what `cloth_basis` leaves over.
    cloth_basis : ndarray, shape (L, D, C)
        Ways in which garments hang otherwise.
    hull_basis : ndarray, shape (L, D, K)
    worn : ndarray, shape (L,)
    knots, knots_basis : ndarray, shape (6,) and (6, K)
        Heights of `KNOTS`.
    """

    keys: tuple[PointKey, ...]
    points: Floats
    points_sd: Floats
    points_basis: Floats
    levels: Floats
    hull: Floats
    hull_sd: Floats
    hull_basis: Floats
    cloth: Floats
    cloth_sd: Floats
    cloth_basis: Floats
    worn: Floats
    knots: Floats
    knots_basis: Floats

    @property
    def size(self) -> int:
        """How many numbers describe a body."""
        return int(self.points_basis.shape[2])

    def unlikeness(self, shape: Floats) -> float:
        """How many times further from the model points may lie, as no body was learnt so far out: 1 for the usual ones."""
        return max(1.0, float(np.abs(shape).max()) / USUAL)

    def points_mm(self, shape: Floats) -> Floats:
        """Points (N, 3) of the body that `shape`, (K,), describes."""
        return np.asarray(self.points + self.points_basis @ shape)

    def heights_mm(self, shape: Floats) -> Floats:
        """Height of every level, (L,)."""
        return np.interp(self.levels, np.arange(len(KNOTS)), self.knots + self.knots_basis @ shape)

    def section_mm(self, shape: Floats) -> Floats:
        """Support function (L, D) of the skin of the body that `shape` describes."""
        return np.asarray(self.hull + self.hull_basis @ shape)

    def dressed_mm(self, shape: Floats, hang: Floats) -> Floats:
        """The same of the garment that hangs on it as `hang`, (C,), says."""
        return np.asarray(self.section_mm(shape) + self.cloth + self.cloth_basis @ hang)

    def support(self, height_mm: Floats, direction: Floats, shape: Floats, dressed: Floats) -> Support:
        """How far the dressed body reaches at some heights in some directions (radians from her left, by way of the front).

        Linear between levels; between directions a cubic through the four nearest (Catmull-Rom).

        Parameters
        ----------
        height_mm, direction : ndarray, shape (M,)
        shape : ndarray, shape (K,)
        dressed : ndarray, shape (L, D)
            `dressed_mm` of that shape and of how the garment hangs.

        Returns
        -------
        Support
        """
        knots = self.knots + self.knots_basis @ shape
        part = np.clip(np.searchsorted(knots, height_mm, side="right") - 1, 0, len(knots) - 2)
        rise = knots[part + 1] - knots[part]
        t = (height_mm - knots[part]) / rise
        level = part + t
        level_by_shape = -((1 - t)[:, None] * self.knots_basis[part] + t[:, None] * self.knots_basis[part + 1]) / rise[:, None]

        below = np.clip(np.searchsorted(self.levels, level, side="right") - 1, 0, len(self.levels) - 2)
        step = self.levels[below + 1] - self.levels[below]
        u = np.clip((level - self.levels[below]) / step, 0.0, 1.0)
        around = self.hull.shape[1]
        turn = np.mod(direction / (2 * np.pi) * around, around)
        first = np.floor(turn).astype(int)
        near = (first[:, None] + np.arange(-1, 3)) % around
        share, share_by_turn = _catmull_rom(turn - first)

        rows = np.stack([below, below + 1])[:, :, None]
        around_it = dressed[rows, near]
        low, high = (around_it * share).sum(-1)
        low_turn, high_turn = (around_it * share_by_turn).sum(-1) * around / (2 * np.pi)
        by_level = (high - low) / step
        corners = np.hstack([below[:, None] * around + near, (below[:, None] + 1) * around + near])
        by_corner = np.hstack([(1 - u)[:, None] * share, u[:, None] * share])
        basis = self.hull_basis.reshape(-1, self.size)[corners]
        hanging = self.cloth_basis.reshape(-1, self.cloth_basis.shape[2])[corners]
        sd = np.hypot(self.hull_sd[rows, near[:, 1:3]], self.cloth_sd[rows, near[:, 1:3]])
        low_sd, high_sd = (1 - (turn - first)) * sd[..., 0] + (turn - first) * sd[..., 1]
        return Support(
            mm=(1 - u) * low + u * high,
            sd_mm=(1 - u) * low_sd + u * high_sd,
            by_shape=(by_corner[:, None] @ basis)[:, 0] + by_level[:, None] * level_by_shape,
            by_cloth=(by_corner[:, None] @ hanging)[:, 0],
            by_height=by_level / rise,
            by_direction=(1 - u) * low_turn + u * high_turn,
            worn=(1 - u) * self.worn[below] + u * self.worn[below + 1],
            level=level,
            inside=(level >= self.levels[0]) & (level <= self.levels[-1]),
        )


@cache
def body_shape() -> BodyShape:
    """The model of `models/body_shape`.

    Raises
    ------
    ModelError
        It is missing or damaged.
    """
    with np.load(weights("body_shape")) as file:
        tables = {name: file[name].astype(float) for name in file.files if name not in ("names", "sides")}
        keys = tuple((str(name), SIDES[side] if side >= 0 else None) for name, side in zip(file["names"], file["sides"], strict=True))
    mean = np.array([[(name in knot) / max(sum(n in knot for n, _ in keys), 1) for name, _ in keys] for knot in KNOTS])
    return BodyShape(keys, knots=mean @ tables["points"][:, HEIGHT], knots_basis=mean @ tables["points_basis"][:, HEIGHT], **tables)


def _catmull_rom(t: Floats) -> tuple[Floats, Floats]:
    """Weights (M, 4) of the four nearest samples for places `t`, (M,), between the middle two, and their derivatives."""
    one = np.ones_like(t)
    share = np.stack([-t + 2 * t**2 - t**3, 2 * one - 5 * t**2 + 3 * t**3, t + 4 * t**2 - 3 * t**3, -(t**2) + t**3], axis=1) / 2
    slope = np.stack([-one + 4 * t - 3 * t**2, -10 * t + 9 * t**2, one + 8 * t - 9 * t**2, -2 * t + 3 * t**2], axis=1) / 2
    return share, slope
