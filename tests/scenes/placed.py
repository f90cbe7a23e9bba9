"""Where printed things are in a scene. Metres."""

from dataclasses import dataclass

from .mesh import Floats
from .spec import View


@dataclass(frozen=True)
class Sticker:
    """A sticker on the wearer, subject frame.

    Attributes
    ----------
    number : int or None
        ArUco id; None for a dot.
    corners : ndarray, shape (4, 3) or (8, 3)
        Of the black square in ArUco order, or points round a dot.
    border : float
        The whole sticker's size over that of `corners`.
    """

    number: int | None
    centre: Floats
    corners: Floats
    normal: Floats
    border: float


@dataclass(frozen=True)
class Card:
    """The scale card, world frame: marker corners (4, 3) by id, its middle, and its normal towards the camera."""

    corners: dict[int, Floats]
    centre: Floats
    normal: Floats
    tilt_deg: float


@dataclass(frozen=True)
class FloorSheet:
    """A sheet on the floor, world frame: the corners (4, 3) of its squares by id, as it lies, and the middle of its squares.

    `shape`: its object's name in Blender; `views`: the photos in which it lies there.
    """

    which: str
    shape: str
    views: tuple[View, ...]
    corners: dict[int, Floats]
    centre: Floats
