"""The unknowns of the joint adjustment: which parameter stands where, and rows over them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.body.shape import BodyShape
from fitcheck.core.records import Floats, View
from fitcheck.core.solution import PointKey

VIEW_PARAMETERS = 6  # turn, lean forward, lean sideways (radians), x, y, z (mm)
ASIDE, DEPTH = 3, 5  # of these, x and z
# shared by all photos, in this order; the last is two, how the card hangs about its x and its z
SHARED = ("stature", "print_scale", "focal", "ease", "sticker", "card_depth", "hang")
SHARED_PARAMETERS = len(SHARED) + 1


@dataclass(frozen=True, slots=True)
class Columns:
    """Which parameter stands where."""

    number: dict[PointKey, int]
    views: dict[View, int]
    stature: int
    print_scale: int
    focal: int
    ease: int
    sticker: int
    card_depth: int
    hang: int  # off plumb about the card's x (its top towards her), and next about its z
    shape: slice
    cloth: slice
    stand_off: dict[PointKey, int]
    normals: dict[PointKey, Floats]
    size: int

    @property
    def model(self) -> range:
        """The statistical model's numbers: the body's shape, then how the garment hangs."""
        return range(self.shape.start, self.cloth.stop)


@dataclass(frozen=True, slots=True)
class Rows:
    """Whitened rows: `jacobian` (R, C) over the parameters `columns` (C,), and residuals (R,)."""

    columns: np.ndarray[tuple[int], np.dtype[np.intp]]
    jacobian: Floats
    residuals: Floats


def number_parameters(
    keys: Sequence[PointKey], views: Sequence[View], body: BodyShape, stand_offs: Iterable[PointKey], normals: dict[PointKey, Floats]
) -> Columns:
    """Give every unknown its place: the points, how she stands in each view, what all views share.

    Parameters
    ----------
    keys : sequence of (name, side)
        The body model's points first, then those tied to them.
    views : sequence of View
    body : BodyShape
    stand_offs : iterable of (name, side)
        Points with a sticker, which stands off the skin.
    normals : dict of (name, side) to ndarray, shape (3,)
        Which way the skin faces there.
    """
    first = 3 * len(keys)
    shared = first + VIEW_PARAMETERS * len(views)
    off = {key: shared + SHARED_PARAMETERS + i for i, key in enumerate(stand_offs)}
    shape = shared + SHARED_PARAMETERS + len(off)
    cloth = shape + body.size
    end = cloth + body.cloth_basis.shape[2]
    return Columns(
        number={key: i for i, key in enumerate(keys)},
        views={view: first + VIEW_PARAMETERS * i for i, view in enumerate(views)},
        **{name: shared + place for place, name in enumerate(SHARED)},
        stand_off=off,
        normals=normals,
        shape=slice(shape, cloth),
        cloth=slice(cloth, end),
        size=end,
    )
