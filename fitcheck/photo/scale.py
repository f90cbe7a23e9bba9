"""From a photo to a calibrated camera: by the scale card, by a plain sheet, or, much worse, by the wearer's height."""

import math
from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from fitcheck.core.camera import Camera, LensProfile, Photo, Scale
from fitcheck.core.errors import UsageError
from fitcheck.core.points import CARD_BAR_MM, CARD_IDS, CARD_PRINT_SD, SHEETS_MM, card_corners_mm
from fitcheck.core.records import Floats, Pose
from fitcheck.photo.card_edges import CardEdges, find_edges
from fitcheck.photo.find_card import CardSighting, find_card
from fitcheck.photo.lens_prior import Lens, lens_prior, shared_lens
from fitcheck.photo.pose_from_corners import FIXED, FlatPose, fit_flat_edges, fit_flat_pose

# All estimates of ours.
CARD_CORNER_SD_PX = 0.1
CARD_EDGE_SD_PX = 0.1
PLACED_CORNER_SD_PX = 1.0
CARD_HANG_SD_DEG = 0.5
SHEET_HANG_SD_DEG = 1.5
CARD_DEPTH_SD_MM = 20.0
CAMERA_LEVEL_SD_DEG = 5.0
HEIGHT_DEPTH_SD_MM = 60.0
HEIGHT_SD = 0.03
HEEL_ABOVE_SOLE_MM = 25.0  # the pose network marks the heel bone, not the floor

# Tolerances of the sheets as relative standard uncertainties (limits over sqrt 3, JCGM 100): ISO 216 allows 1.5 mm on 210 mm,
# ISO/IEC 7810 0.12 mm on 85.6 mm; Letter taken as A4.
_SHEET_SD = {"a4": 1.5 / 210 / math.sqrt(3), "letter": 1.5 / 210 / math.sqrt(3), "id1": 0.12 / 85.6 / math.sqrt(3)}

_OBLIQUE_DEG = 20.0
_NOT_PLUMB_DEG = 3.0
_ODD_ASPECT = 0.01
_ODD_INSET_PX, _ODD_INSET_OF_WIDTH = 0.8, 0.025  # spread light explains up to half a pixel
_LEAST_MARKERS = 4

_HEELS = (29, 30)  # BlazePose topology
_ON_BODY = 0.5


def scale_from_card(photo: Photo, bar_mm: float = CARD_BAR_MM, lenses: Sequence[LensProfile] = ()) -> Scale | None:
    """Calibrate the camera of one photo by the printed scale card: `scales_from_cards` of this photo alone."""
    return scales_from_cards([photo], bar_mm, lenses)[0]


def scales_from_cards(
    photos: Sequence[Photo], bar_mm: float = CARD_BAR_MM, lenses: Sequence[LensProfile] = (), camera: str = ""
) -> list[Scale | None]:
    """Calibrate the cameras of the photos of one fitting by the printed scale card.

    Photos of one size from one camera with one focal length share their lens: what the cards of all of them say together about its
    bending (and about its focal length, where the files do not say) is used for each.

    Parameters
    ----------
    photos : sequence of Photo
    bar_mm : float
        What the card's 100 mm bar measures on the print.
    lenses : sequence of LensProfile
        The user's calibrated cameras.
    camera : str
        The camera's name where the files no longer say it.

    Returns
    -------
    list of Scale or None
        None for a photo where fewer than four of the card's markers are seen.

    Raises
    ------
    UsageError
        If `bar_mm` is no length that a printer's scaling could have given.
    """
    if not 0.5 * CARD_BAR_MM <= bar_mm <= 1.5 * CARD_BAR_MM:
        raise UsageError(
            f"A check bar of {bar_mm:g} mm cannot come from this card.", "Measure the bar marked 100 mm in millimetres and enter that."
        )
    seen = {i: find_card(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY).astype(np.uint8, copy=False)) for i, photo in enumerate(photos)}
    cards = {i: card for i, card in seen.items() if len(card.ids) >= _LEAST_MARKERS}
    first = {i: lens_prior(photos[i], lenses, camera) for i in cards}
    fits = {i: _fit_card(photos[i], card, bar_mm, first[i]) for i, card in cards.items()}
    edges = {i: find_edges(photos[i].rgb, card.ids, bar_mm / CARD_BAR_MM, fits[i].camera) for i, card in cards.items()}
    finer = {i: fits[i] if e is None else _fit_edges(photos[i], e, first[i], fits[i]) for i, e in edges.items()}
    scales: list[Scale | None] = [None] * len(photos)
    for i, card in cards.items():
        alike = [j for j in cards if _same_lens(photos[i], photos[j])]
        lens, fit = first[i], finer[i]
        if len(alike) > 1:
            lens, found = shared_lens(first[i], [finer[j] for j in alike]), edges[i]
            fit = _fit_card(photos[i], card, bar_mm, lens, near=fit) if found is None else _fit_edges(photos[i], found, lens, fit)
        free = _fit_card(photos[i], card, bar_mm, lens, aspect_sd=0.2, near=fits[i])
        flags = _card_flags(card, fits[i], free)
        scale = _scale(photos[i], lens, fit, "card", len(card.ids), CARD_PRINT_SD, CARD_HANG_SD_DEG, CARD_DEPTH_SD_MM, flags)
        inset_px = float(np.mean([fits[j].inset_px for j in alike]))
        scales[i] = replace(scale, inset_px=inset_px, print_share=bar_mm / CARD_BAR_MM)
    return scales


def _fit_card(
    photo: Photo, card: CardSighting, bar_mm: float, lens: Lens, aspect_sd: float = FIXED, near: FlatPose | None = None
) -> FlatPose:
    corners_mm = card_corners_mm()[list(card.ids), :, :2] * (bar_mm / CARD_BAR_MM)
    return fit_flat_pose(
        corners_mm,
        card.corners_px,
        _size(photo),
        lens.focal_px,
        CARD_CORNER_SD_PX,
        lens.focal_sd,
        lens.k1,
        lens.k1_sd,
        aspect_sd=aspect_sd,
        higher=lens.higher,
        near=near,
    )


def _fit_edges(photo: Photo, edges: CardEdges, lens: Lens, near: FlatPose) -> FlatPose:
    return fit_flat_edges(
        edges.middles_mm,
        edges.found_px,
        edges.normals,
        _size(photo),
        lens.focal_px,
        CARD_EDGE_SD_PX,
        near,
        lens.focal_sd,
        lens.k1,
        lens.k1_sd,
        lens.higher,
    )


def _same_lens(a: Photo, b: Photo) -> bool:
    return (a.camera_model, a.focal_px, a.rgb.shape) == (b.camera_model, b.focal_px, b.rgb.shape)


def _card_flags(card: CardSighting, fit: FlatPose, free: FlatPose) -> list[str]:
    flags = ["card_partly_hidden"] if len(card.ids) < len(CARD_IDS) else []
    if card.twice:
        flags.append("two_cards")
    if abs(math.degrees(math.atan2(fit.rotation[0, 1], -fit.rotation[1, 1]))) > _NOT_PLUMB_DEG:
        flags.append("card_not_plumb")
    if _printed_oddly(fit, free, card.corners_px):
        flags.append("card_scale_odd")
    return flags


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
    fit = fit_flat_pose(
        corners_mm[None],
        corners[None],
        _size(photo),
        lens.focal_px,
        PLACED_CORNER_SD_PX,
        lens.focal_sd,
        lens.k1,
        k1_sd=FIXED,
        inset_sd_px=FIXED,
        higher=lens.higher,
    )
    source = "id1" if size == "id1" else "sheet"
    return _scale(photo, lens, fit, source, 0, _SHEET_SD[size], SHEET_HANG_SD_DEG, CARD_DEPTH_SD_MM, ["scale_without_card"])


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
    if not 1000 <= height_mm <= 2500:
        raise UsageError(f"A height of {height_mm:g} mm is not a person's.", "Enter the height in millimetres, 1650 for 165 cm.")
    rows, columns = np.nonzero(pose.mask)
    heels = [pose.points_px[k] for k in _HEELS if pose.visibility[k] > _ON_BODY]
    if not len(rows) or not heels:
        return None
    crown_px, heel_px = float(rows.min()), float(np.mean([heel[1] for heel in heels]))
    height_px = heel_px - crown_px
    if crown_px < 2 or heel_px > photo.rgb.shape[0] - 1 or height_px < 0.2 * photo.rgb.shape[0]:
        return None
    lens = lens_prior(photo, lenses, camera)
    mm_per_px = (height_mm - HEEL_ABOVE_SOLE_MM) / height_px
    distance_mm = lens.focal_px * mm_per_px
    middle_px = np.array([float(np.median(columns)), (crown_px + heel_px) / 2])
    offset_mm = (middle_px - _middle(photo)) * mm_per_px
    place_mm = np.array([*offset_mm, distance_mm])
    return Scale(
        camera=Camera(_matrix(_size(photo), lens.focal_px), np.array([lens.k1, *lens.higher]), np.diag([1.0, -1.0, -1.0]), place_mm),
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
        flags=("scale_without_card", *_focal_flags(lens)),
    )


def _size(photo: Photo) -> tuple[int, int]:
    return photo.rgb.shape[1], photo.rgb.shape[0]


def _middle(photo: Photo) -> Floats:
    return (np.array(_size(photo), np.float64) - 1) / 2


def _matrix(size: tuple[int, int], focal_px: float) -> Floats:
    x, y = (size[0] - 1) / 2, (size[1] - 1) / 2
    return np.array([[focal_px, 0, x], [0, focal_px, y], [0, 0, 1]])


def _focal_flags(lens: Lens) -> list[str]:
    return ["focal_unknown"] if lens.guessed else []


def _scale(
    photo: Photo,
    lens: Lens,
    fit: FlatPose,
    source: str,
    markers: int,
    size_sd: float,
    hang_sd_deg: float,
    depth_sd_mm: float,
    flags: list[str],
) -> Scale:
    away = fit.translation_mm / np.linalg.norm(fit.translation_mm)
    tilt_deg = math.degrees(math.acos(np.clip(-fit.rotation[:, 2] @ away, -1.0, 1.0)))
    return Scale(
        camera=fit.camera,
        source=source,
        markers=markers,
        distance_mm=float(np.linalg.norm(fit.translation_mm)),
        reprojection_px=fit.rms_px,
        mm_per_px=float(fit.translation_mm[2]) / fit.focal_px,
        tilt_deg=tilt_deg,
        scale_sd=math.hypot(size_sd, fit.size_sd),
        focal_sd=fit.focal_sd if lens.known_sd is None else lens.known_sd,
        plumb_sd_deg=math.hypot(hang_sd_deg, fit.pitch_sd_deg),
        hang_sd_deg=hang_sd_deg,
        depth_sd_mm=depth_sd_mm,
        flags=(*flags, *(["card_oblique"] if tilt_deg > _OBLIQUE_DEG else []), *_focal_flags(lens)),
    )


def _printed_oddly(fit: FlatPose, free: FlatPose, corners_px: Floats) -> bool:
    """Whether the print is stretched one way, or its squares do not go with their gaps."""
    stretch = abs(math.log(free.aspect))
    stretched = stretch > max(_ODD_ASPECT, 4 * free.aspect_sd) and free.rms_px < fit.rms_px
    width_px = float(np.linalg.norm(corners_px[:, 0] - corners_px[:, 1], axis=1).mean())
    return stretched or abs(fit.inset_px) > max(_ODD_INSET_PX, _ODD_INSET_OF_WIDTH * width_px)


def _check_corners(photo: Photo, corners: Floats) -> None:
    again = "Give x,y of the four corners clockwise from the top left as the photo shows them."
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise UsageError("A sheet has four corners.", again)
    if (corners < -0.5).any() or (corners > np.array(_size(photo)) - 0.5).any():
        raise UsageError("A corner of the sheet lies outside the photo.", again)
    side = np.roll(corners, -1, axis=0) - corners
    turn = side[:, 0] * np.roll(side, -1, axis=0)[:, 1] - side[:, 1] * np.roll(side, -1, axis=0)[:, 0]
    if not (turn > 0).all() or corners[0].sum() > corners[2].sum():
        raise UsageError("The sheet's corners are not in clockwise order.", again)
    if np.linalg.norm(side, axis=1).min() < 15:
        raise UsageError("The sheet is too small in the photo to give a scale.", "Use a larger sheet or the printed scale card.")
