"""From a photo without a scale card to a camera: by a plain sheet, or, much worse, by the wearer's height."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.camera import Camera, LensProfile, Photo, Scale, pinhole
from fitcheck.core.errors import UsageError
from fitcheck.core.points import SHEETS_MM
from fitcheck.core.pose_joints import HEELS
from fitcheck.core.records import Floats, Pose
from fitcheck.photo.camera.flat_target import Corners
from fitcheck.photo.camera.lens import FIXED
from fitcheck.photo.camera.lens_prior import lens_prior
from fitcheck.photo.camera.pose_from_target import fit_flat_pose
from fitcheck.photo.card.scale import CARD_DEPTH_SD_MM, Held, focal_flags, picture_size, scale_of

# All estimates of ours.
PLACED_CORNER_SD_PX = 1.0  # per axis, of a corner clicked on
SHEET_HANG_SD_DEG = 1.5  # of a sheet held up, off plumb
CAMERA_LEVEL_SD_DEG = 5.0  # of a camera in the hand
HEIGHT_DEPTH_SD_MM = 60.0  # between crown and heels, and what is measured
HEIGHT_SD = 0.03  # relative: hair, shoes, how straight she stands
SHORTEST_MM, TALLEST_MM = 1000, 2500  # of a person
LEAST_HIGH = 0.2  # of the picture's height that she must fill
TOP_ROWS = 2  # of the picture: a crown there may be cut off
SMALLEST_SIDE_PX = 15  # of a sheet
HALF_PX = 0.5  # the picture's edge beyond the middles of its outermost pixels
HEEL_ABOVE_SOLE_MM = 25.0  # the pose network marks the heel bone, not the floor

# Tolerances of the sheets as relative standard uncertainties (limits over sqrt 3, JCGM 100): ISO 216 allows 1.5 mm on 210 mm,
# ISO/IEC 7810 0.12 mm on 85.6 mm; Letter taken as A4.
_SHEET_SD = {"a4": 1.5 / 210 / math.sqrt(3), "letter": 1.5 / 210 / math.sqrt(3), "id1": 0.12 / 85.6 / math.sqrt(3)}

_ON_BODY = 0.5  # how surely the pose must see a heel


def scale_from_corners(photo: Photo, corners_px: Floats, size: str = "a4", lenses: Sequence[LensProfile] = (), camera: str = "") -> Scale:
    """Calibrate the camera by a plain sheet or a bank-card-sized card whose four corners the user gives.

    Parameters
    ----------
    photo : Photo
    corners_px : ndarray, shape (4, 2)
        Clockwise from the top left as the photo shows it; the sheet may be held upright or lying.
    size : str
        `a4` (ISO 216), `letter` (ANSI/ASME Y14.1) or `id1` (ISO/IEC 7810).
    lenses, camera
        As `scales_from_cards`.

    Raises
    ------
    UsageError
        If the size is unknown or the corners are not those of a sheet.
    """
    if size not in SHEETS_MM:
        raise UsageError(f'There is no sheet size "{size}".', f"Use one of {', '.join(SHEETS_MM)}.")
    corners = np.asarray(corners_px, np.float64)
    _check_corners(photo, corners)
    across = np.linalg.norm(corners[[1, 2]] - corners[[0, 3]], axis=1).mean()
    down = np.linalg.norm(corners[[3, 2]] - corners[[0, 1]], axis=1).mean()
    short_mm, long_mm = sorted(SHEETS_MM[size])
    width_mm, height_mm = (long_mm, short_mm) if across > down else (short_mm, long_mm)
    corners_mm = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * [width_mm / 2, height_mm / 2]
    lens = lens_prior(photo, lenses, camera)
    held_lens = replace(lens, k1_sd=FIXED)  # four corners cannot tell how a lens bends
    fit = fit_flat_pose(Corners(corners_mm[None], corners[None]), PLACED_CORNER_SD_PX, picture_size(photo), held_lens, inset_sd_px=FIXED)
    source = "id1" if size == "id1" else "sheet"
    return scale_of(lens, fit, source, 0, Held(_SHEET_SD[size], SHEET_HANG_SD_DEG, CARD_DEPTH_SD_MM), ["scale_without_card"])


def scale_from_height(photo: Photo, pose: Pose, height_mm: float, lenses: Sequence[LensProfile] = (), camera: str = "") -> Scale | None:
    """Estimate the camera from the wearer's height alone, the camera taken to be held level.

    The crown is the top of the person in the picture, hair included; below, the heels count and not the toes, which stand nearer the
    camera and so lower in the picture. The card frame's origin is put midway between crown and heels.

    Parameters
    ----------
    photo : Photo
    pose : Pose
    height_mm : float
        Crown to sole, as dressed for the photo.
    lenses, camera
        As `scales_from_cards`.

    Returns
    -------
    Scale or None
        None where head or feet are not in the picture.

    Raises
    ------
    UsageError
        If the height is not a person's.
    """
    if not SHORTEST_MM <= height_mm <= TALLEST_MM:
        raise UsageError(f"A height of {height_mm:g} mm is not a person's.", "Enter the height in millimetres, 1650 for 165 cm.")
    rows, columns = np.nonzero(pose.mask)
    heels = [pose.points_px[k] for k in HEELS if pose.visibility[k] > _ON_BODY]
    if not len(rows) or not heels:
        return None
    crown_px, heel_px = float(rows.min()), float(np.mean([heel[1] for heel in heels]))
    height_px = heel_px - crown_px
    if crown_px < TOP_ROWS or heel_px > photo.rgb.shape[0] - 1 or height_px < LEAST_HIGH * photo.rgb.shape[0]:
        return None
    lens = lens_prior(photo, lenses, camera)
    mm_per_px = (height_mm - HEEL_ABOVE_SOLE_MM) / height_px
    distance_mm = lens.focal_px * mm_per_px
    middle_px = np.array([float(np.median(columns)), (crown_px + heel_px) / 2])
    offset_mm = (middle_px - _middle(photo)) * mm_per_px
    place_mm = np.array([*offset_mm, distance_mm])
    return Scale(
        camera=Camera(pinhole(lens.focal_px, picture_size(photo)), np.array([lens.k1, *lens.higher]), np.diag([1.0, -1.0, -1.0]), place_mm),
        source="height",
        markers=0,
        distance_mm=float(np.linalg.norm(place_mm)),
        reprojection_px=0.0,
        mm_per_px=mm_per_px,
        tilt_deg=0.0,
        scale_sd=HEIGHT_SD,
        focal_sd=lens.focal_sd if lens.known_sd is None else lens.known_sd,
        plumb_sd_deg=CAMERA_LEVEL_SD_DEG,
        depth_sd_mm=HEIGHT_DEPTH_SD_MM,
        flags=("scale_without_card", *focal_flags(lens)),
    )


def _middle(photo: Photo) -> Floats:
    return (np.array(picture_size(photo), np.float64) - 1) / 2


def _check_corners(photo: Photo, corners: Floats) -> None:
    again = "Give x,y of the four corners clockwise from the top left as the photo shows them."
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise UsageError("A sheet has four corners.", again)
    if (corners < -HALF_PX).any() or (corners > np.array(picture_size(photo)) - HALF_PX).any():
        raise UsageError("A corner of the sheet lies outside the photo.", again)
    side = np.roll(corners, -1, axis=0) - corners
    turn = side[:, 0] * np.roll(side, -1, axis=0)[:, 1] - side[:, 1] * np.roll(side, -1, axis=0)[:, 0]
    if not (turn > 0).all() or corners[0].sum() > corners[2].sum():
        raise UsageError("The sheet's corners are not in clockwise order.", again)
    if np.linalg.norm(side, axis=1).min() < SMALLEST_SIDE_PX:
        raise UsageError("The sheet is too small in the photo to give a scale.", "Use a larger sheet or the printed scale card.")
