"""A photo as folds are read in it: millimetres at the body, x towards image right and y down, with the named body points in it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fitcheck.core.folds import Fold
from fitcheck.core.records import SIDES, Floats, Side, View
from fitcheck.core.solution import PointKey, Solution

END_MM = 75.0  # how far from a named place a diagonal may end


@dataclass(frozen=True, slots=True)
class BodyPlaces:
    """Where the named body points lie in one photo.

    Attributes
    ----------
    points_px : dict of (name, side) to ndarray, shape (2,)
    mm_per_px : float
        At the body.
    """

    view: View
    points_px: Mapping[PointKey, Floats]
    mm_per_px: float


def places_in(body: Solution) -> dict[View, BodyPlaces]:
    """The solved body points as each photo shows them."""
    found = {}
    for view, placement in body.views.items():
        projected = placement.project(body.positions_mm)
        scale = placement.mm_per_px(body.positions_mm.mean(axis=0))
        found[view] = BodyPlaces(view, dict(zip(body.keys, projected, strict=True)), scale)
    return found


@dataclass(frozen=True, slots=True)
class Line:
    """A fold in the frame of the photo, mm."""

    number: int
    fold: Fold
    points: Floats
    upper: Floats
    lower: Floats
    middle: Floats
    way: Floats

    @property
    def steep(self) -> float:
        """Degrees from plumb, 0 to 90."""
        return abs(self.fold.direction_deg)


class Frame:
    """Named points of one photo in millimetres."""

    def __init__(self, places: BodyPlaces) -> None:
        self.view, self.scale = places.view, places.mm_per_px
        self.points = {key: np.asarray(xy, float) * places.mm_per_px for key, xy in places.points_px.items()}
        self.top, self.bottom = self.mean("shoulder_point"), self.mean("hip_side")

    def mean(self, name: str) -> Floats:
        found = [self.points[key] for key in ((name, None), *((name, side) for side in SIDES)) if key in self.points]
        return np.mean(found, axis=0) if found else np.full(2, np.nan)

    def at(self, name: str, side: Side | None) -> Floats:
        return self.points.get((name, side), self.points.get((name, None), np.full(2, np.nan)))

    def level(self, name: str) -> float:
        return float(self.mean(name)[1])

    def middle_x(self, y: float) -> float:
        """The body's midline at a height."""
        share = (y - self.top[1]) / max(self.bottom[1] - self.top[1], 1e-9)
        return float(self.top[0] + share * (self.bottom[0] - self.top[0]))

    def side_of(self, line: Line) -> Side:
        if self.view in ("right", "left"):
            return "wearer_right" if self.view == "right" else "wearer_left"
        to_image_right = line.middle[0] > self.middle_x(float(line.middle[1]))
        return "wearer_left" if to_image_right == (self.view == "front") else "wearer_right"

    def near(self, point: Floats, name: str, side: Side | None, within: float = END_MM) -> bool:
        return bool(np.hypot(*(point - self.at(name, side))) < within)

    def armhole(self, side: Side | None) -> Floats:
        """Halfway down the armhole."""
        return np.asarray((self.at("shoulder_point", side) + self.at("underarm_point", side)) / 2)


def line_of(number: int, fold: Fold, scale: float) -> Line:
    points = fold.points_px * scale
    upper, lower = points[0], points[-1]
    chord = lower - upper
    return Line(number, fold, points, upper, lower, (upper + lower) / 2, chord / max(float(np.hypot(*chord)), 1e-9))
