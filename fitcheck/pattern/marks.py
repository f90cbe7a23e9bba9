"""What is drawn on paper goes with the paper: marks divided where a piece is cut, and turned with the part that turns."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import rotated
from fitcheck.pattern.piece import Mark

_AREAS = ("gap", "lap", "block")
_LEAST_MM = 4.0  # shorter ends of lines, or areas as narrow as that, are left out


def divided(marks: Sequence[Mark], region: Floats, whole: Floats) -> tuple[tuple[Mark, ...], tuple[Mark, ...]]:
    """Marks on a part of the paper and marks on the rest; lines and areas across its border are cut there, words stay with the larger part.

    Parameters
    ----------
    region : ndarray, shape (N, 2)
        The part's outline.
    whole : ndarray, shape (M, 2)
        The outline of all paper: what stands beside it goes with the nearer part.
    """
    inside = Polygon(region).buffer(0)
    rest = Polygon(whole).buffer(0).difference(inside.buffer(0.01))
    found: tuple[list[Mark], list[Mark]] = ([], [])
    for mark in marks:
        if len(mark.points) == 1 or mark.kind == "arrow":
            place = Point(*mark.points.mean(axis=0))
            found[place.distance(inside) > place.distance(rest)].append(mark)
            continue
        shape = Polygon(mark.points).buffer(0) if mark.kind in _AREAS else LineString(mark.points)
        parts = [_pieces(share, shape.geom_type) for share in (shape.intersection(inside), shape.difference(inside))]
        sizes = [sum(_size(one) for one in own) for own in parts]
        for i, own in enumerate(parts):
            for one in own:
                if _size(one) > _LEAST_MM:
                    found[i].append(replace(mark, points=_points(one), says=mark.says if sizes[i] == max(sizes) else ""))
    return tuple(found[0]), tuple(found[1])


def turned(mark: Mark, angle: float, about: Floats) -> Mark:
    """Turned by radians, as `lines.rotated`."""
    return replace(mark, points=rotated(mark.points, angle, about))


def _pieces(shape: BaseGeometry, kind: str) -> list[BaseGeometry]:
    """What is not empty and of this kind: a polygon may leave lines where it touches another."""
    return [one for one in (shape.geoms if hasattr(shape, "geoms") else [shape]) if one.geom_type == kind and not one.is_empty]


def _size(shape: BaseGeometry) -> float:
    """Length of a line; of an area its mean width."""
    size: float = 2 * shape.area / shape.length if shape.geom_type == "Polygon" else shape.length
    return size


def _points(shape: BaseGeometry) -> Floats:
    found: Floats = np.array(shape.exterior.coords if shape.geom_type == "Polygon" else shape.coords)
    return found
