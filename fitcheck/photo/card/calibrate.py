"""One lens measured from photos of the scale card held at different tilts (`fitcheck calibrate`)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from fitcheck.core.camera import LensProfile, Photo, pinhole
from fitcheck.core.errors import PhotoError, UsageError
from fitcheck.core.points import card_corners_mm
from fitcheck.core.records import Floats
from fitcheck.photo.camera.flat_target import Corners, inward
from fitcheck.photo.camera.lens import Lens
from fitcheck.photo.camera.lens_prior import lens_prior
from fitcheck.photo.camera.lens_profiles import diagonal_px, equivalent_mm, picture_shape, same_camera
from fitcheck.photo.camera.pose_from_target import CORRELATED, fit_flat_pose
from fitcheck.photo.card.find_card import find_card

# Estimates of ours, tried on drawn cards.
LEAST_PHOTOS = 8
LEAST_MARKERS = 6  # of the twelve, half: else the card is seen too partly to tell bending
LEAST_SPREAD_DEG = 10.0  # root mean square of the card's tilts about their mean
COVERAGE = 2  # standard uncertainties told: about 19 times in 20
WORST_FOCAL_SD = 0.02  # no better than what the file says anyway
WORST_RMS_SHARE = 0.0004  # of the diagonal: 1 px in 1500 x 2000; a bent card or a moving hand gives more
CORNER_SD_PX = 0.15  # per axis; cards held in the hand are less sharp than one that hangs
FLAT_SD_MM = 0.3  # how far the middle of a card fixed on a board lies off its edges; 1 mm would shift the focal length by 1.6 %
STRETCH_SD = 0.003  # height over width of the print
# The middle is held in the middle: where the axis really meets the picture changes with stabilisation and with how the phone was held.
_FLAGS = cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K3
_HOW = "Hold the card flat on a board and take 8 or more sharp photos: from above, below, left and right, tilted by 20 to 40 degrees, "
_HOW += "the card large and now and then near each edge of the picture."


@dataclass(frozen=True, slots=True)
class _View:
    """One photo of the card: corners on the card (N, 3) and in the picture (N, 2), held upright."""

    name: str
    corners_mm: Floats
    corners_px: Floats


def calibrate(photos: Sequence[Photo], camera: str = "") -> LensProfile:
    """Measure a lens: focal length and bending.

    Zhang's method (IEEE PAMI 22, 2000) as OpenCV's calibrateCamera has it. The corners are first freed of what spread light takes off
    dark squares. The standard uncertainties are the fit's, doubled for neighbouring corners that err together, and widened by what
    a card not quite flat or true, or an optical axis off the picture's middle, would change.

    Parameters
    ----------
    photos : sequence of Photo
        Eight or more of the scale card, by one camera at one zoom.
    camera : str
        The camera's name where the files do not say it.

    Returns
    -------
    LensProfile

    Raises
    ------
    PhotoError
        Too few photos show the card.
    UsageError
        The photos are of different cameras, name none, are too alike, or do not agree with one lens and a flat card.
    """
    if len(photos) < LEAST_PHOTOS:
        raise PhotoError(f"There are {len(photos)} photos of the scale card, and {LEAST_PHOTOS} are needed.", _HOW)
    if not same_camera(photos):
        raise UsageError(
            "These photos are not all of one camera, shape and zoom.", "Use one folder for each camera, and leave its zoom where it is."
        )
    name = photos[0].camera_model or camera
    if not name:
        raise UsageError("The photos do not say which camera took them.", "Use the camera's original files, or name it with --camera.")
    views = [view for view in map(_card_in, photos) if view is not None]
    if len(views) < LEAST_PHOTOS:
        raise PhotoError(f"The scale card shows well in {len(views)} of {len(photos)} photos, and {LEAST_PHOTOS} are needed.", _HOW)
    size = _upright_size(photos[0])
    start_px = lens_prior(photos[0]).focal_px
    held = _fit(views, size, start_px)
    others = [_fit(views, size, start_px, centred=False)]
    others += [_fit([_otherwise(view, doubt) for view in views], size, start_px) for doubt in ("rolled", "bowed", "stretched")]
    focal, k1, k2 = held.values
    focal_sd, k1_sd, k2_sd = np.sqrt(sum((other.values - held.values) ** 2 for other in others) + (CORRELATED * held.sds) ** 2)
    if held.spread_deg < LEAST_SPREAD_DEG:
        raise UsageError("The views of the card are too alike to tell the lens.", _HOW)
    diagonal = diagonal_px(photos[0])
    if held.rms_px > WORST_RMS_SHARE * diagonal:
        raise UsageError(
            f"The photos do not agree with one lens and a flat card ({held.rms_px:.1f} px apart; {held.worst} fits worst).",
            "Fix the card flat on a board, keep still, leave out blurred photos, and try again.",
        )
    if focal_sd > WORST_FOCAL_SD * focal:
        raise UsageError(
            f"These views of the card tell the focal length to no better than {100 * COVERAGE * focal_sd / focal:.0f} %.", _HOW
        )
    return LensProfile(
        camera_model=name,
        shape=picture_shape(photos[0]),
        focal=focal / diagonal,
        focal_sd=focal_sd / focal,
        k1=k1,
        k1_sd=k1_sd,
        k2=k2,
        k2_sd=k2_sd,
        equivalent_mm=equivalent_mm(photos[0]),
        photos=len(views),
        rms_share=held.rms_px / diagonal,
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    """Focal length [px], k1, k2 with their sds, how well and how variedly the card was seen."""

    values: Floats
    sds: Floats
    rms_px: float
    worst: str
    spread_deg: float


def _otherwise(view: _View, doubt: str) -> _View:
    """The view as it would be of a card that is off by one standard uncertainty."""
    x, y = view.corners_mm[:, 0], view.corners_mm[:, 1]
    off = np.zeros_like(view.corners_mm)
    if doubt == "stretched":
        off[:, 1] = STRETCH_SD * y
    else:
        along = x if doubt == "rolled" else y
        off[:, 2] = FLAT_SD_MM * (along / np.abs(along).max()) ** 2
    return _View(view.name, view.corners_mm + off, view.corners_px)


def _fit(views: Sequence[_View], size: tuple[int, int], focal_px: float, centred: bool = True) -> _Fit:
    rms, found, bending, turns, _, sds, _, each = cv2.calibrateCameraExtended(
        [view.corners_mm.astype(np.float32) for view in views],
        [view.corners_px.astype(np.float32) for view in views],
        size,
        pinhole(focal_px, size),
        np.zeros(5),
        flags=_FLAGS | (cv2.CALIB_FIX_PRINCIPAL_POINT if centred else 0),
    )
    faces = np.array([cv2.Rodrigues(turn)[0][:, 2] for turn in turns])
    mean = faces.mean(axis=0) / np.linalg.norm(faces.mean(axis=0))
    off = np.arccos(np.clip(faces @ mean, -1, 1))
    sds = sds.ravel()  # fx fy cx cy k1 k2 ...; fx is tied to fy and has none of its own
    return _Fit(
        np.array([found[0, 0], *bending.ravel()[:2]]),
        np.array([sds[1], *sds[4:6]]),
        float(rms),
        views[int(np.argmax(each))].name,
        math.degrees(float(np.sqrt((off**2).mean()))),
    )


def _upright_size(photo: Photo) -> tuple[int, int]:
    height, width = sorted(photo.rgb.shape[:2], reverse=True)
    return width, height


def _card_in(photo: Photo) -> _View | None:
    """The card's true corners in one photo; a photo taken lying is turned upright, which leaves the lens as it is."""
    card = find_card(photo.grey)
    if len(card.ids) < LEAST_MARKERS:
        return None
    height, width = photo.rgb.shape[:2]
    corners_mm, prior = card_corners_mm()[list(card.ids)], lens_prior(photo)
    lens = Lens(prior.focal_px, max(prior.focal_sd, WORST_FOCAL_SD))
    inset_px = fit_flat_pose(Corners(corners_mm[:, :, :2], card.corners_px), CORNER_SD_PX, (width, height), lens).inset_px
    corners_px = (card.corners_px - inset_px * inward(card.corners_px)).reshape(-1, 2)
    if width > height:
        corners_px = np.column_stack([height - 1 - corners_px[:, 1], corners_px[:, 0]])
    return _View(photo.name, corners_mm.reshape(-1, 3), corners_px)
