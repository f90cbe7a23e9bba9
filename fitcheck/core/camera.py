"""A photo, the camera that took it, and how far its scale can be trusted."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats, View

FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)  # of the frame that 35 mm equivalents of focal lengths refer to (EXIF 2.32)


@dataclass(frozen=True)  # no slots: its grey picture is kept
class Photo:
    """One photo, opened and turned upright.

    Attributes
    ----------
    view : View
        `right` means the wearer's right side faces the camera.
    name : str
        File name without folder.
    sha256 : str
        Of the file as given.
    rgb : ndarray of uint8, shape (H, W, 3)
    focal_px : float or None
        From EXIF; None when the file does not say.
    camera_model : str
        Maker and model as the file says, or "".
    coarse_px : float
        Further standard uncertainty, per axis, of whatever is seen in it, because it was compressed hard.
    """

    view: View
    name: str
    sha256: str
    rgb: NDArray[np.uint8]
    focal_px: float | None
    camera_model: str
    flags: tuple[str, ...] = ()
    coarse_px: float = 0.0

    @cached_property
    def grey(self) -> NDArray[np.uint8]:
        """Grey levels, shape (H, W): made once, as card, stickers and doubts are all looked for in them. Not to be written to."""
        import cv2  # commands that look at no photo do without it

        grey = np.asarray(cv2.cvtColor(self.rgb, cv2.COLOR_RGB2GRAY), np.uint8)
        grey.flags.writeable = False
        return grey


@dataclass(frozen=True, slots=True)
class Camera:
    """A calibrated pinhole camera in the card frame (OpenCV conventions: x right, y down, z forward).

    Attributes
    ----------
    matrix : ndarray, shape (3, 3)
        Intrinsics, pixels.
    distortion : ndarray, shape (5,)
        k1 k2 p1 p2 k3.
    rotation : ndarray, shape (3, 3)
        Card frame to camera.
    translation_mm : ndarray, shape (3,)
    """

    matrix: Floats
    distortion: Floats
    rotation: Floats
    translation_mm: Floats

    @property
    def eye_mm(self) -> Floats:
        """Where it stands in the card frame, shape (3,)."""
        return np.asarray(-self.rotation.T @ self.translation_mm)


@dataclass(frozen=True, slots=True)
class LensProfile:
    """What `fitcheck calibrate` found of one lens of one camera; holds for every size of picture of that shape.

    Attributes
    ----------
    camera_model : str
        As `Photo.camera_model`.
    shape : float
        Long over short side of the picture.
    focal, focal_sd : float
        Focal length as a share of the picture's diagonal, and its relative standard uncertainty.
    k1, k2, p1, p2, k3 : float
        Bending (Brown), OpenCV's order; k1_sd and k2_sd are standard uncertainties.
    equivalent_mm : float or None
        35 mm equivalent the files said; None where they did not.
    photos : int
        How many it rests on.
    rms_share : float
        Root mean square misfit as a share of the diagonal.
    """

    camera_model: str
    shape: float
    focal: float
    focal_sd: float
    k1: float
    k1_sd: float
    k2: float
    k2_sd: float
    p1: float = 0.0
    p2: float = 0.0
    k3: float = 0.0
    equivalent_mm: float | None = None
    photos: int = 0
    rms_share: float = 0.0


@dataclass(frozen=True, slots=True)
class CardHeight:
    """How high the card's middle is above the floor.

    Attributes
    ----------
    mm, sd_mm : float
        Were the card plumb.
    by_tilt_mm : float
        How much more that is for each radian by which the upright leans towards the camera against the card; 0 where it was measured
        with a tape.
    by_print_mm : float
        How much more for each share by which the card was printed larger.
    roll, roll_sd : float
        Radians by which the upright leans to image right against the card, as a pole shows it; the doubt is infinite where nothing does.
    """

    mm: float
    sd_mm: float
    by_tilt_mm: float = 0.0
    by_print_mm: float = 0.0
    roll: float = 0.0
    roll_sd: float = math.inf


@dataclass(frozen=True, slots=True)
class FloorSeen:
    """That a photo's scale and its upright come from the floor sheets.

    Attributes
    ----------
    sheets : tuple of str
        Those that it shows itself: left, right.
    squares : int
        Of these.
    card_off_deg : float or None
        How far the wall card hangs off the floor's upright; None without one.
    """

    sheets: tuple[str, ...]
    squares: int
    card_off_deg: float | None


@dataclass(frozen=True, slots=True)
class Scale:
    """The camera of one photo as the scale card gives it, and how far it can be trusted.

    Attributes
    ----------
    source : str
        card | floor | sheet | id1 | height; a card that is seen beside floor sheets is a card's.
    markers : int
        Card markers used (0 without a card).
    distance_mm : float
        Camera to card.
    reprojection_px : float
        Root mean square.
    mm_per_px : float
        At the card.
    scale_sd : float
        Relative standard uncertainty of lengths at the card's depth.
    focal_sd : float
        Relative standard uncertainty of the focal length.
    plumb_sd_deg : float
        How far the card's upright may be off plumb.
    depth_sd_mm : float
        How far the card may stand in front of or behind where it should.
    inset_px : float or None
        How far inside the edges of a black square its corners are seen, because bright areas grow; None where it is not known.
    hang_sd_deg : float
        The part of `plumb_sd_deg` that is the same in all photos of a fitting, because the card stays as it hangs.
    print_share : float
        Size of the print against the drawing, as the user measured it.
    above_floor : CardHeight or None
        Where the card's stand or the user tells it.
    foot_mm : float or None
        The same as the stand's foot in this photo alone tells it.
    floor : FloorSeen or None
        Where the floor sheets gave the upright; the card's frame then is one that stands plumb on the floor, where she stands.
    """

    camera: Camera
    source: str
    markers: int
    distance_mm: float
    reprojection_px: float
    mm_per_px: float
    tilt_deg: float
    scale_sd: float
    focal_sd: float
    plumb_sd_deg: float
    depth_sd_mm: float = 0.0
    flags: tuple[str, ...] = ()
    inset_px: float | None = None
    hang_sd_deg: float = 0.0
    print_share: float = 1.0
    above_floor: CardHeight | None = None
    foot_mm: float | None = None
    floor: FloorSeen | None = None

    @property
    def above_floor_sd_mm(self) -> float:
        """How well the card's height above the floor is known, how it hangs included; nan where nothing tells it."""
        told = self.above_floor
        return math.nan if told is None else math.hypot(told.sd_mm, told.by_tilt_mm * math.radians(self.hang_sd_deg))


def pinhole(focal_px: float, picture_size: tuple[int, int]) -> Floats:
    """Matrix, shape (3, 3), of a camera whose axis meets the middle of a picture of this width and height."""
    width, height = picture_size
    return np.array([[focal_px, 0, (width - 1) / 2], [0, focal_px, (height - 1) / 2], [0, 0, 1]])
