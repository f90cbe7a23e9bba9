"""The frozen records handed from stage to stage, and nothing else.

Conventions
-----------
Points are (x, y) arrays of shape (N, 2) in pixels of the upright photo, centre of the top left pixel at (0, 0).
Lengths are millimetres, angles degrees, everywhere but in `report.units`.
Sides are the wearer's own: `wearer_left`, `wearer_right`; a point or seam on the midline has side None.
The card frame (world frame of one photo): origin at the middle of the scale card, x to image right, y up (plumb), z from the card
towards the camera. The body frame: x to the wearer's left, y up from the floor, z forward; origin between the shoulder points.
"""

import math
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.drawing import SewnSeam

Floats = NDArray[np.float64]
View = Literal["front", "right", "back", "left"]
Side = Literal["wearer_left", "wearer_right"]
Grade = Literal["marker", "dot", "placed", "detected"]
Verdict = Literal["present", "absent", "unclear"]

VIEWS: tuple[View, ...] = ("front", "right", "back", "left")
SIDES: tuple[Side, ...] = ("wearer_left", "wearer_right")
SIDE_VIEW: dict[Side, View] = {"wearer_left": "left", "wearer_right": "right"}  # the photo that a side faces


@dataclass(frozen=True, slots=True)
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
    """

    view: View
    name: str
    sha256: str
    rgb: NDArray[np.uint8]
    focal_px: float | None
    camera_model: str
    flags: tuple[str, ...] = ()


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
class Scale:
    """The camera of one photo as the scale card gives it, and how far it can be trusted.

    Attributes
    ----------
    source : str
        card | sheet | id1 | height.
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
        centred | pointer | dot | placed | pose | outline_top | outline_bottom.
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
    """One observable of a fitting (TRADE 3): value, uncertainty and where the uncertainty comes from.

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


def measurement_key(id: str, at: str, side: Side | None) -> str:
    """`<id>[_<at>][_L|_R]`: one observable of one side as one word.

    >>> measurement_key("shoulder_seam_behind", "tip", "wearer_right")
    'shoulder_seam_behind_tip_R'
    """
    return "_".join(part for part in (id, at, {None: "", "wearer_left": "L", "wearer_right": "R"}[side]) if part)


@dataclass(frozen=True, slots=True)
class Finding:
    """What does not fit, in the wearer's words."""

    id: str
    side: Side | Literal["both"] | None
    says: str
    verdict: Verdict
    measurements: tuple[str, ...]
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Amount:
    """One alteration with its amount.

    Attributes
    ----------
    side : both | wearer_left | wearer_right
    probability : float
        That this alteration is needed at all.
    """

    id: str
    side: str
    amount_mm: float
    sd_mm: float
    probability: float = 1.0


@dataclass(frozen=True, slots=True)
class Explanation:
    """One set of alterations that together explain the measurements.

    Attributes
    ----------
    weight : float
        Posterior probability of just this set.
    unexplained : tuple of str
        Keys of measurements it leaves outside their tolerance.
    """

    weight: float
    alterations: tuple[Amount, ...]
    unexplained: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Expectation:
    """What one measurement should read in the next photos."""

    measurement: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class RoundStep:
    """One alteration of this round, ready to be carried out.

    Attributes
    ----------
    name : str
        Plain name, "forward shoulder".
    steps, matching : tuple of str
        Instructions with lengths left as `{amount}`, `{half_amount}` or `{mm:<number>}` fields for `report.units`.
    evidence_for, evidence_against : tuple of str
        Measurement keys.
    caution : str
        "" or why an experienced eye should look first.
    cut_mm : float
        What to cut: the amount rounded as dressmakers do, and no more than is sensible at once; signed as the amount. 0: as measured.
    rounding : str
        How it was rounded, with `{mm:<number>}` fields; "" where it was not.
    diagram_svg : str
        The pieces concerned before and after, to scale, lengths as `{mm:<number>}` fields; "" where there is no drawing.
    diagram_note : str
        What the drawing leaves to be said.
    seams : tuple of SewnSeam
        Of the pieces drawn.
    """

    amount: Amount
    name: str
    group: int
    why: str
    steps: tuple[str, ...]
    matching: tuple[str, ...]
    expect: tuple[Expectation, ...]
    evidence_for: tuple[str, ...] = ()
    evidence_against: tuple[str, ...] = ()
    caution: str = ""
    cut_mm: float = 0.0
    rounding: str = ""
    diagram_svg: str = ""
    diagram_note: str = ""
    seams: tuple[SewnSeam, ...] = ()


@dataclass(frozen=True, slots=True)
class Round:
    """This round: one to three alterations of the first group that needs any.

    Attributes
    ----------
    summary : str
        Plain sentences; lengths as `{mm:<number>}` fields.
    look_again : tuple of str
        What to look at after altering.
    would_help : tuple of str
        Photos, marks or tape measures that would change the answer most.
    """

    steps: tuple[RoundStep, ...]
    summary: str
    look_again: tuple[str, ...] = ()
    would_help: tuple[str, ...] = ()
    later: tuple[Amount, ...] = ()


@dataclass(frozen=True, slots=True)
class PostureValue:
    """One posture number (TRADE 7); tracked, never diagnosed."""

    id: str
    side: Side | None
    value: float
    unit: str
    sd: float


@dataclass(frozen=True, slots=True)
class TapeCheck:
    """One of the wearer's tape measurements against the same length out of the photos.

    Attributes
    ----------
    id : str
        bust, waist, hip, shoulder_length, back_waist_length, bust_span or height.
    agrees : bool
        The difference lies within the joint 95 % uncertainty.
    """

    id: str
    tape_mm: float
    own_mm: float
    own_sd_mm: float
    tape_sd_mm: float
    agrees: bool


@dataclass(frozen=True, slots=True)
class Fold:
    """One crest (ridge) or hollow (valley) of the cloth in one photo.

    Attributes
    ----------
    points_px : ndarray, shape (N, 2)
        Centre line, from its upper end.
    direction_deg : float
        From the plumb line, -90 to 90: 0 upright, + when the lower end lies further to image right.
    width_mm : float
        At half height.
    height_mm : float
        Of the crest over its feet as the shading tells; rough (see `vision.folds`).
    strength : float
        1 for a fold 3 mm high and 60 mm long, in proportion to both.
    tension : str
        taut (straight and narrow) | loose.
    take_up_mm, take_up_sd_mm : float or None
        Cloth taken up across the fold; None where nothing is known of heights.
    """

    view: View
    kind: Literal["ridge", "valley"]
    points_px: Floats
    length_mm: float
    direction_deg: float
    width_mm: float
    height_mm: float
    strength: float
    tension: Literal["taut", "loose"]
    take_up_mm: float | None = None
    take_up_sd_mm: float | None = None


@dataclass(frozen=True, slots=True)
class FoldGroup:
    """Folds of one photo that a dressmaker reads together.

    Attributes
    ----------
    id : str
        fold_fan, fold_horizontals, fold_loose_horizontals, fold_verticals, fold_v, fold_diagonal or fold_smiles.
    at : str
        Where it points, lies or runs: bust_point, hip, back_waist, neck_to_armhole ...
    starts_at, ends_at : str
        Named places it runs from and to, "" where it only lies at `at`.
    folds : tuple of int
        Places in `FitCheck.folds`.
    strength : float
        Total over its ridges or its valleys, whichever is more.
    take_up_mm, take_up_sd_mm : float or None
    significant : bool
        Strong enough to be spoken of as a finding.
    says : str
        What it suggests and how strongly it counted, in plain words; lengths as `{mm:<number>}` fields.
    """

    id: str
    at: str
    side: Side | None
    view: View
    folds: tuple[int, ...]
    strength: float
    take_up_mm: float | None
    take_up_sd_mm: float | None
    significant: bool
    starts_at: str = ""
    ends_at: str = ""
    says: str = ""

    @property
    def key(self) -> str:
        """As `Measurement.key`."""
        return measurement_key(self.id, self.at, self.side)


@dataclass(frozen=True, slots=True)
class PhotoResult:
    """Everything about one photo that the report shows."""

    photo: Photo
    scale: Scale | None
    pose: Pose | None
    standing: Standing | None
    sightings: tuple[Sighting, ...]
    seams: tuple[SeamLine, ...]
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FitCheck:
    """The whole result of one fitting."""

    photos: tuple[PhotoResult, ...]
    landmarks: tuple[Landmark, ...]
    measurements: tuple[Measurement, ...]
    unmeasured: tuple[Unmeasured, ...]
    findings: tuple[Finding, ...]
    explanations: tuple[Explanation, ...]
    round: Round
    posture: tuple[PostureValue, ...] = ()
    settings: dict[str, Any] = field(default_factory=dict)
    flags: tuple[str, ...] = ()
    tape: tuple[TapeCheck, ...] = ()
    folds: tuple[Fold, ...] = ()
    fold_groups: tuple[FoldGroup, ...] = ()
