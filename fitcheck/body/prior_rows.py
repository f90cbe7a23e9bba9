"""What is known of a fitting without looking at points and outlines, as whitened rows of the joint adjustment.

How she stands, how the card hangs and that it stays where it is, how stickers lie on the skin, how far points lie from those they are
seen beside (ties), and what people's size is like.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fitcheck.body.parameters import ASIDE, DEPTH, Columns, Rows
from fitcheck.body.sticker_size import common_sd
from fitcheck.body.view_rows import NOMINAL_TURN_DEG
from fitcheck.core.camera import CardHeight, Scale
from fitcheck.core.records import SIDES, Floats, View
from fitcheck.core.solution import PointKey, Tie

TURN_SD_DEG = 2.0  # feet on a taped line, common practice; estimate
LEAN_SD_DEG = 0.4  # sway while standing still; estimate
CARD_HEIGHT_SD_MM = 4.0  # the card stays where it is between the photos
CARD_HELD_SD_MM = 1.5  # where a stand carries it, or its height was measured
STATURE_SD = 0.07  # 115 mm; wider than women of one country, as the model's own bodies
EASE_SD_MM = 1.3  # how much more or less room a garment has than those of our drapes; as POINT_SD_MM in adjust.py
STANDS_SD_MM = 30.0  # how well she steps back to where her side seam (in side views the nearer one) is beside the card; estimate
# Which coordinates of the body lie at the card's depth then, and which way they count.
_SEAMS: tuple[tuple[PointKey, int], ...] = tuple((("underarm_point", side), 2) for side in SIDES)
AT_CARD: dict[View, tuple[tuple[tuple[PointKey, int], ...], float]] = {
    "front": (_SEAMS, 1.0),
    "back": (_SEAMS, -1.0),
    "right": (((("waist_side", "wearer_right"), 0),), -1.0),
    "left": (((("waist_side", "wearer_left"), 0),), 1.0),
}
# With floor sheets she stands by the toe strips, whose star lies on the line of the sheets: her side seam is some 20 mm behind her ankles'
# place on it, in side photos the nearer one some 45 mm beyond its middle, as she stands behind the strip. How much farther from the camera
# than the sheets that is, and how surely: 18 to 27 mm is what our drawn women and sheets scatter by.
AT_STRIPS_MM: dict[View, float] = {"front": 20.0, "right": 45.0, "back": -20.0, "left": 45.0}
AT_STRIPS_SD_MM = 25.0
ANYWHERE_MM = 5000.0  # nothing is known of where she stands across the picture
FRAME_SD_MM = 0.05  # that the origin lies between the shoulder points is no knowledge but a choice; not 0, or there is no answer
LEAST_DEPTH_SD_MM, LEAST_HANG_SD_DEG = 1.0, 0.01  # the same for a card said to be exactly in its place
ALIKE_OFF_SD_MM = 1.5  # paper, cloth and skin lie on each other alike on both sides; estimate


@dataclass(frozen=True, slots=True)
class Known:
    """Rows `sum(factors * x[columns]) = target` with standard deviation 1; few parameters take part in each.

    Attributes
    ----------
    columns, factors : ndarray, shape (R, K)
        Where fewer than K take part, the rest have factor 0. In ties the third is the body's size.
    target : ndarray, shape (R,)
    sources : tuple of str, length R
    ties : ndarray of bool, shape (R,)
        Rows that tie one point to another.
    stature, size : int
        Parameter number of the body's size; how many parameters there are.
    """

    columns: NDArray[np.intp]
    factors: Floats
    target: Floats
    sources: tuple[str, ...]
    ties: NDArray[np.bool_]
    stature: int
    size: int

    def residuals(self, x: Floats) -> tuple[Floats, Floats]:
        """Residuals (R,) at parameters `x`, (P,), and factors (R, K) of the linearised rows.

        Those of ties are in units of the body's size, or a smaller body would seem to fit better.
        """
        residual, size = self.target - (self.factors * x[self.columns]).sum(axis=1), x[self.stature]
        unit = np.where(self.ties, 1 / size, 1.0)
        factors = self.factors * unit[:, None]
        factors[self.ties, 2] += residual[self.ties] / size**2
        return residual * unit, factors

    def normal(self, residual: Floats, factors: Floats, weight: Floats) -> tuple[Floats, Floats]:
        """Normal matrix (P, P) and right side (P,) of the rows weighted by `weight`, (R,)."""
        weighted = factors * weight[:, None]
        pairs = self.columns[:, :, None] * self.size + self.columns[:, None, :]
        products = weighted[:, :, None] * weighted[:, None, :]
        normal = np.bincount(pairs.ravel(), products.ravel(), self.size**2).reshape(self.size, self.size)
        right = np.bincount(self.columns.ravel(), (weighted * (weight * residual)[:, None]).ravel(), self.size)
        return np.asarray(normal, np.float64), np.asarray(right, np.float64)

    def rows(self, residual: Floats, factors: Floats, weight: Floats) -> Rows:
        """The same rows written out over all parameters."""
        matrix = np.zeros((len(residual), self.size))
        np.add.at(matrix, (np.arange(len(residual))[:, None], self.columns), factors * weight[:, None])
        return Rows(np.arange(self.size), matrix, residual * weight)


class _Row(NamedTuple):
    """One row: `sum(factors * x[columns])` is `target` with standard deviation `sd`."""

    columns: Sequence[int]
    factors: Sequence[float]
    target: float
    sd: float
    source: str
    tie: bool = False


def known(at: Columns, scales: Mapping[View, Scale], ties: Sequence[Tie], usual_off: Mapping[PointKey, tuple[float, float]]) -> Known:
    """All that is known beforehand.

    Parameters
    ----------
    at : Columns
    scales : mapping of view to Scale
        Of the views that are solved for.
    ties : sequence of Tie
    usual_off : mapping of point to (mean, standard deviation)
        How far a sticker on it stands off the skin, mm.
    """
    rows = [*_of_the_body(at, ties, usual_off), *_of_the_card(at, scales), *_of_the_views(at, scales)]
    most = max(len(row.columns) for row in rows)
    which, factors = np.zeros((len(rows), most), np.intp), np.zeros((len(rows), most))
    for i, row in enumerate(rows):
        which[i, : len(row.columns)] = row.columns
        factors[i, : len(row.columns)] = np.array(row.factors) / row.sd
    target = np.array([row.target / row.sd for row in rows])
    return Known(which, factors, target, tuple(row.source for row in rows), np.array([row.tie for row in rows]), at.stature, at.size)


def _of_the_body(at: Columns, ties: Sequence[Tie], usual_off: Mapping[PointKey, tuple[float, float]]) -> Iterator[_Row]:
    """How stickers lie, what bodies and garments are like, and where points lie from those they are seen beside."""
    for (name, side), (usual, sd) in usual_off.items():
        own = at.stand_off[name, side]
        yield _Row((own,), (1.0,), usual, sd, "definition")
        other: PointKey = (name, "wearer_right")
        if side == "wearer_left" and usual_off.get(other, (0.0, 0.0))[0] == usual:
            yield _Row((own, at.stand_off[other]), (1.0, -1.0), 0.0, ALIKE_OFF_SD_MM, "definition")
    for number in at.model:
        yield _Row((number,), (1.0,), 0.0, 1.0, "depth")
    shoulders = [3 * at.number["shoulder_point", side] for side in SIDES]
    for axis in (0, 2):  # the origin lies between the shoulder points
        yield _Row([c + axis for c in shoulders], (0.5, 0.5), 0.0, FRAME_SD_MM, "frame")
    paired: dict[str, list[Tie]] = {}
    for tie in ties:
        paired.setdefault(tie.point[0], []).append(tie)
    for pair in paired.values():
        for axis in range(3):
            if len(pair) == 2 and pair[0].alike[axis]:
                yield from _alike(at, pair[0], pair[1], axis)
            else:
                for tie in pair:
                    yield _tie_row(at, tie, axis, float(tie.sd_mm[axis]))
    yield _Row((at.stature,), (1.0,), 1.0, STATURE_SD, "depth")
    yield _Row((at.ease,), (1.0,), 0.0, EASE_SD_MM, "outline")


def _tie_row(at: Columns, tie: Tie, axis: int, sd_mm: float) -> _Row:
    """That a point lies where its tie says, along one axis."""
    columns = [3 * at.number[tie.point] + axis, 3 * at.number[tie.anchor] + axis, at.stature]
    swing = float(tie.swing[axis])
    factors = [1.0, 0.0 if tie.on_floor and axis == 1 else swing - 1.0, -float(tie.offset_mm[axis])]
    if tie.swung_by is not None:
        columns, factors = [*columns, 3 * at.number[tie.swung_by] + axis], [*factors, -swing]
    return _Row(columns, factors, 0.0, sd_mm, "depth", True)


def _alike(at: Columns, one: Tie, other: Tie, axis: int) -> Iterator[_Row]:
    """The ties of both sides, which stray alike: their sum and their difference are what strays independently."""
    rho, sd_mm = float(one.alike[axis]), float(one.sd_mm[axis])
    first, second = _tie_row(at, one, axis, sd_mm), _tie_row(at, other, axis, sd_mm)
    mirror = -1.0 if axis == 0 else 1.0
    for sign, share in ((mirror, 1 + rho), (-mirror, 1 - rho)):
        factors = [*first.factors, *(sign * factor for factor in second.factors)]
        yield _Row([*first.columns, *second.columns], factors, 0.0, sd_mm * float(np.sqrt(2 * share)), "depth", True)


def _of_the_card(at: Columns, scales: Mapping[View, Scale]) -> Iterator[_Row]:
    """How the card is printed and hangs, and how high."""
    every = list(scales.values())
    yield _Row((at.sticker,), (1.0,), 0.0, common_sd(every), "scale")
    yield _Row((at.print_scale,), (1.0,), 0.0, max(s.scale_sd for s in every), "scale")
    yield _Row((at.focal,), (1.0,), 0.0, max(s.focal_sd for s in every), "focal")
    # the card stays where it is: that it hangs before or behind its place, or off plumb, it does in all photos
    yield _Row((at.card_depth,), (1.0,), 0.0, max(LEAST_DEPTH_SD_MM, *(s.depth_sd_mm for s in every)), "depth")
    for tip in (at.hang, at.hang + 1):
        yield _Row((tip,), (1.0,), 0.0, np.radians(max(LEAST_HANG_SD_DEG, *(s.hang_sd_deg for s in every))), "plumb")
    heights = _card_heights(scales)
    if heights:
        told, height = heights[0]
        if np.isfinite(height.roll_sd):
            yield _Row((at.hang + 1,), (1.0,), -height.roll, height.roll_sd, "plumb")
        on_floor = (1.0, height.by_tilt_mm, -_aimed_at(scales[told])[0], height.by_print_mm)
        yield _Row((at.views[told] + 4, at.hang, at.hang + 1, at.print_scale), on_floor, -height.mm, height.sd_mm, "floor")


def _of_the_views(at: Columns, scales: Mapping[View, Scale]) -> Iterator[_Row]:
    """How she stands before each camera, and that the card is as high in all photos."""
    heights = _card_heights(scales)
    first = heights[0][0] if heights else next(iter(scales))
    for view, scale in scales.items():
        column = at.views[view]
        yield _Row((column,), (1.0,), 0.0, np.radians(TURN_SD_DEG), "turn")
        own_sd = np.sqrt(max(scale.plumb_sd_deg**2 - scale.hang_sd_deg**2, 0.0))
        nominal = np.radians(NOMINAL_TURN_DEG[view])
        cosine, sine = np.cos(nominal), np.sin(nominal)
        for lean, by_hang in ((1, (-cosine, sine)), (2, (-sine, -cosine))):
            # a card tells the camera's roll far better than its pitch
            own = own_sd * abs(by_hang[0]) if scale.source in ("card", "floor") else own_sd
            yield _Row((column + lean, at.hang, at.hang + 1), (1.0, *by_hang), 0.0, np.radians(np.hypot(LEAN_SD_DEG, own)), "plumb")
        yield _Row((column + ASIDE,), (1.0,), 0.0, ANYWHERE_MM, "depth")
        seam, sign = AT_CARD[view]
        beside = [3 * at.number[key] + axis for key, axis in seam]
        seam_factors = [sign / len(beside)] * len(beside)
        if scale.floor is not None:
            yield _Row((column + DEPTH, *beside), (1.0, *seam_factors), -AT_STRIPS_MM[view], AT_STRIPS_SD_MM, "depth")
        else:
            yield _Row((column + DEPTH, at.card_depth, *beside), (1.0, 1.0, *seam_factors), 0.0, STANDS_SD_MM, "depth")
        if view != first:
            yield _as_high(at, view, first, dict(heights))


def _card_heights(scales: Mapping[View, Scale]) -> list[tuple[View, CardHeight]]:
    """Where the card's height above the floor is known, best known first: in photos for which it was moved it is known less well."""
    told = [(view, scale.above_floor) for view, scale in scales.items() if scale.above_floor is not None]
    return sorted(told, key=lambda known: known[1].sd_mm)


def _as_high(at: Columns, view: View, first: View, heights: Mapping[View, CardHeight]) -> _Row:
    """The card hangs as high in one photo as in another, but where it was seen to have been moved."""
    columns, factors = (at.views[view] + 4, at.views[first] + 4), (1.0, -1.0)
    if view not in heights:
        return _Row(columns, factors, 0.0, CARD_HEIGHT_SD_MM, "scale")
    lower_mm = heights[first].mm - heights[view].mm
    moved_sd = heights[view].sd_mm if lower_mm else 0.0
    return _Row(columns, factors, lower_mm, float(np.hypot(CARD_HELD_SD_MM, moved_sd)), "scale")


def _aimed_at(scale: Scale) -> Floats:
    """Where the optical axis meets the card's plane, which is about where she stands, shape (3,)."""
    eye, axis = scale.camera.eye_mm, scale.camera.rotation[2]
    return np.asarray(eye - axis * eye[2] / axis[2])


def tied(tie: Tie, place: Callable[[PointKey], Floats]) -> Floats:
    """Where a tie says that its point lies, by the places of other points."""
    anchor = place(tie.anchor)
    swung = np.zeros(3) if tie.swung_by is None else tie.swing * (place(tie.swung_by) - anchor)
    return anchor * [1.0, 0.0 if tie.on_floor else 1.0, 1.0] + tie.offset_mm + swung
