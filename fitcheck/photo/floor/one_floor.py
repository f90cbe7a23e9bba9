"""What is handed to the fit of one floor, and what it hands back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from fitcheck.core.records import Floats, View
from fitcheck.photo.camera.flat_target import Edges
from fitcheck.photo.camera.lens import Lens

Thing = Literal["left", "right", "card"]
Place = tuple[Thing, int]  # a thing, and how often it had been moved before


@dataclass(frozen=True, slots=True)
class Told:
    """A length that is told by a tape, or by something else than the sheets."""

    mm: float
    sd_mm: float
    by_tape: bool


@dataclass(frozen=True, slots=True)
class Seen:
    """One thing in one photo.

    Attributes
    ----------
    edges : Edges
        Between its cells, at the size of the print, in the thing's frame (x right, y up on the paper).
    sd_px : float
        Of an edge, across.
    """

    view: View
    thing: Thing
    edges: Edges
    sd_px: float


@dataclass(frozen=True, slots=True)
class FloorFit:
    """What the fit found.

    Attributes
    ----------
    poses : dict of view to ndarray, shape (6,)
        Floor to camera: Rodrigues vector, translation (mm).
    places : dict of (thing, times moved) to ndarray, shape (6,)
        Thing to floor. The points of a sheet are (x, 0, -y) before that, those of a card (x, y, 0).
    lenses : dict of view to (focal_px, k1)
    sizes : dict of thing to float
        Its size over that of the sheet at the origin.
    covariance : ndarray
        Of all parameters.
    columns : dict of view to int
        First of a photo's six.
    place_columns : dict of (thing, times moved) to int
        First of a place's six.
    focal_columns : dict of view to int
        Of the logarithm of its focal length.
    curls_mm : dict of (thing, times moved) to ndarray, shape (BENDS,)
        How high a sheet's corners stand, by every bend (`curl`).
    cost : float
        Half the sum of the squared whitened residuals, strays counted less.
    rms_px : dict of (view, thing) to float
        Of the edges, strays counted less.
    """

    poses: dict[View, Floats]
    places: dict[Place, Floats]
    lenses: dict[View, tuple[float, float]]
    sizes: dict[Thing, float]
    covariance: Floats
    columns: dict[View, int]
    place_columns: dict[Place, int]
    focal_columns: dict[View, int]
    curls_mm: dict[Place, Floats]
    cost: float
    rms_px: dict[tuple[View, Thing], float]


@dataclass(frozen=True, slots=True)
class Setting:
    """What a fit starts from.

    Attributes
    ----------
    seen : sequence of Seen
    sizes_px : mapping of view to (int, int)
        Width and height of the photos.
    lenses : mapping of view to Lens
        Photos of one camera share a record.
    moved : mapping of (view, thing) to int
        How often it had been moved before that photo; 0 where it is not named.
    other_size : thing or None
        One that was printed to another size than the rest.
    card_height : Told or None
        Of the wall card's middle above the floor, before it was moved.
    """

    seen: Sequence[Seen]
    sizes_px: Mapping[View, tuple[int, int]]
    lenses: Mapping[View, Lens]
    moved: Mapping[tuple[View, Thing], int]
    other_size: Thing | None = None
    card_height: Told | None = None
