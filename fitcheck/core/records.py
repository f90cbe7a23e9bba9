"""The frozen records handed from stage to stage: what is seen in the photos and measured, and the types that all records share.

Conventions
-----------
Points are (x, y) arrays of shape (N, 2) in pixels of the upright photo, centre of the top left pixel at (0, 0).
Lengths are millimetres, angles degrees, everywhere but in `report.words.units`.
Sides are the wearer's own: `wearer_left`, `wearer_right`; a point or seam on the midline has side None.
The card frame (world frame of one photo): origin at the middle of the scale card, x to image right, y up (plumb), z from the card
towards the camera. The body frame: x to the wearer's left, y up from the floor, z forward; origin between the shoulder points.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
View = Literal["front", "right", "back", "left"]
Side = Literal["wearer_left", "wearer_right"]
Grade = Literal["marker", "dot", "placed", "detected"]
Verdict = Literal["present", "absent", "unclear"]

VIEWS: tuple[View, ...] = ("front", "right", "back", "left")
SIDES: tuple[Side, ...] = ("wearer_left", "wearer_right")
SIDE_VIEW: dict[Side, View] = {"wearer_left": "left", "wearer_right": "right"}  # the photo that a side faces
OTHER_SIDE: dict[Side, Side] = {"wearer_left": "wearer_right", "wearer_right": "wearer_left"}
X, Y, Z = 0, 1, 2  # axes of the body frame
OUTWARDS: dict[Side | None, float] = {"wearer_left": 1.0, "wearer_right": -1.0, None: 1.0}  # which way x counts, in the body frame


@dataclass(frozen=True, slots=True)
class Pose:
    """One person found in a photo.

    Attributes
    ----------
    points_px : ndarray, shape (33, 2)
        The 33 body points of the BlazePose topology, in its order.
    points_mm : ndarray, shape (33, 3)
        The model's own rough 3D guess, hip centred (x right, y down, z away from the camera).
    visibility : ndarray, shape (33,)
    mask : ndarray of bool, shape (H, W)
        True on the person, at the photo's size.
    people : int
        How many people were found.
    """

    points_px: Floats
    points_mm: Floats
    visibility: Floats
    mask: NDArray[np.bool_]
    people: int = 1
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sighting:
    """A named point seen in one photo.

    Attributes
    ----------
    name : str
        Landmark name as in `body/landmarks.toml`.
    xy_px : ndarray, shape (2,)
        The named point itself: the sticker's centre, or a pointer's tip.
    sd_px : float
        Standard uncertainty per axis in the picture.
    sd_mm : float
        Further standard uncertainty per axis on the body (sticker placed off the point, estimate from an outline ...).
    corners_px : ndarray, shape (4, 2), or None
        The sticker's corners, so that it can be left out when seams are looked for.
    kind : str
        centred | pointer | dot | placed | placed_sure | pose | outline_top | outline_bottom | edge_on (a sticker seen edge-on).
    """

    name: str
    side: Side | None
    view: View
    grade: Grade
    xy_px: Floats
    sd_px: float
    sd_mm: float = 0.0
    kind: str = "centred"
    corners_px: Floats | None = None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SeamLine:
    """A seam line found in one photo.

    Attributes
    ----------
    name : str
        centre_front, centre_back, shoulder, side, waist, princess, princess_back, bust_tick, dart; the garment's edges neckline,
        armhole, hem.
    points_px : ndarray, shape (N, 2)
        Centre line, about 2 px apart, from its upper (or, for cross seams, image left) end.
    sd_px : float
        Standard uncertainty across the line.
    colour : str
        Nearest plain colour name, for the overlay.
    """

    name: str
    side: Side | None
    view: View
    points_px: Floats
    sd_px: float
    colour: str = ""
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Landmark:
    """A named body point in the body frame, solved from all views.

    Attributes
    ----------
    position_mm, sd_mm : ndarray, shape (3,)
    sightings : tuple of Sighting
        What it rests on; empty when only the body proportions carry it.
    """

    name: str
    side: Side | None
    position_mm: Floats
    sd_mm: Floats
    sightings: tuple[Sighting, ...] = ()
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """How the wearer stands in one photo.

    Attributes
    ----------
    turn_deg : float
        From the nominal direction of the view; positive is counter-clockwise seen from above.
    """

    view: View
    turn_deg: float
    turn_sd_deg: float
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Measurement:
    """One observable of a fitting: value, uncertainty and where the uncertainty comes from.

    Attributes
    ----------
    id, at : str
        `at` is the level or end ("tip", "bust" ...), "" where there is only one.
    side : Side or None
    view : View or None
        The photo it is best seen in.
    unit : str
        mm or deg.
    sd : float
        Standard uncertainty; the squares of `sources` sum to its square.
    sources : dict
        {pixel, scale, focal, depth, turn, plumb, definition: standard uncertainty}.
    from_px, to_px : ndarray, shape (2,), or None
        Ends of the measured gap in `view`, for the overlay.
    alike : mapping of str to float
        Correlation of its error with those of the measurements solved for together with it, by their keys (its own too: 1); none where that
        is not known.
    """

    id: str
    at: str
    side: Side | None
    view: View | None
    value: float
    unit: str
    sd: float
    sources: dict[str, float]
    flags: tuple[str, ...] = ()
    from_px: Floats | None = None
    to_px: Floats | None = None
    alike: Mapping[str, float] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """`<id>[_<at>][_L|_R]`, the name used in tables and truth files."""
        return measurement_key(self.id, self.at, self.side)


@dataclass(frozen=True, slots=True)
class Unmeasured:
    """An observable that could not be measured, and why."""

    id: str
    at: str
    side: Side | None
    why: str

    @property
    def key(self) -> str:
        """As `Measurement.key`."""
        return measurement_key(self.id, self.at, self.side)


@cache
def measurement_key(id: str, at: str, side: Side | None) -> str:
    """`<id>[_<at>][_L|_R]`: one observable of one side as one word.

    >>> measurement_key("shoulder_seam_behind", "tip", "wearer_right")
    'shoulder_seam_behind_tip_R'
    """
    return "_".join(part for part in (id, at, {None: "", "wearer_left": "L", "wearer_right": "R"}[side]) if part)
