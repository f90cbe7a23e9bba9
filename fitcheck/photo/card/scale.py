"""From a photo to a calibrated camera by the printed scale card; without one see `without_card.py`."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.core.camera import LensProfile, Photo, Scale
from fitcheck.core.errors import UsageError
from fitcheck.core.points import CARD_BAR_MM, CARD_IDS, CARD_PRINT_SD, card_corners_mm
from fitcheck.core.records import Floats
from fitcheck.photo.camera.flat_target import Corners, Edges
from fitcheck.photo.camera.lens import FIXED, Lens
from fitcheck.photo.camera.lens_prior import lens_prior, shared_lens
from fitcheck.photo.camera.pose_from_target import FlatPose, fit_flat_edges, fit_flat_pose
from fitcheck.photo.card.card_edges import find_card_edges
from fitcheck.photo.card.find_card import LEAST_MARKERS, CardSighting, find_card

# All estimates of ours.
CARD_CORNER_SD_PX = 0.1  # per axis
CARD_EDGE_SD_PX = 0.1  # of one edge between two cells, across
CARD_HANG_SD_DEG = 0.5  # of the card off plumb
CARD_DEPTH_SD_MM = 20.0  # from the side seam's depth

SHORTEST_BAR, LONGEST_BAR = 0.5, 1.5  # of the bar's nominal length, that a printer's scaling may make it
_QUARTER = math.pi / 2  # of a turn, in radians
_OBLIQUE_DEG = 20.0  # from square on
_NOT_PLUMB_DEG = 3.0  # in the picture
_ODD_ASPECT, _ODD_SDS = 0.01, 4  # height over width of the print, and that in its own standard uncertainties
_FREE_ASPECT_SD = 0.2  # with which it is tried whether the print is stretched: any print's
_ODD_INSET_PX, _ODD_INSET_OF_WIDTH = 0.8, 0.025  # spread light explains up to half a pixel


@dataclass(frozen=True, slots=True)
class Held:
    """How well a card or sheet is printed, held and placed: standard uncertainties of its size (relative), its upright and its depth."""

    size_sd: float
    hang_sd_deg: float
    depth_sd_mm: float


CARD_HELD = Held(CARD_PRINT_SD, CARD_HANG_SD_DEG, CARD_DEPTH_SD_MM)


def scale_from_card(photo: Photo, bar_mm: float = CARD_BAR_MM, lenses: Sequence[LensProfile] = ()) -> Scale | None:
    """Calibrate the camera of one photo by the printed scale card: `scales_from_cards` of this photo alone."""
    return scales_from_cards([photo], bar_mm, lenses)[0]


def scales_from_cards(
    photos: Sequence[Photo],
    bar_mm: float = CARD_BAR_MM,
    lenses: Sequence[LensProfile] = (),
    camera: str = "",
    print_sd: float = CARD_PRINT_SD,
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
    print_sd : float
        Doubt of the print's size, as a share.

    Returns
    -------
    list of Scale or None
        None for a photo where fewer than four of the card's markers are seen.

    Raises
    ------
    UsageError
        If `bar_mm` is no length that a printer's scaling could have given.
    """
    if not SHORTEST_BAR * CARD_BAR_MM <= bar_mm <= LONGEST_BAR * CARD_BAR_MM:
        raise UsageError(
            f"A check bar of {bar_mm:g} mm cannot come from this card.", "Measure the bar marked 100 mm in millimetres and enter that."
        )
    seen = {i: find_card(photo.grey) for i, photo in enumerate(photos)}
    cards = {i: card for i, card in seen.items() if len(card.ids) >= LEAST_MARKERS}
    first = {i: lens_prior(photos[i], lenses, camera) for i in cards}
    fits = {i: _fit_card(photos[i], card, bar_mm, first[i]) for i, card in cards.items()}
    edges = {i: find_card_edges(photos[i].rgb, card.ids, bar_mm / CARD_BAR_MM, fits[i].camera) for i, card in cards.items()}
    finer = {i: fits[i] if e is None else _fit_edges(photos[i], e, first[i], fits[i]) for i, e in edges.items()}
    scales: list[Scale | None] = [None] * len(photos)
    for i, card in cards.items():
        alike = [j for j in cards if same_lens(photos[i], photos[j])]
        lens, fit = first[i], finer[i]
        if len(alike) > 1:
            lens, found = shared_lens(first[i], [finer[j] for j in alike]), edges[i]
            fit = _fit_card(photos[i], card, bar_mm, lens, near=fit) if found is None else _fit_edges(photos[i], found, lens, fit)
        free = _fit_card(photos[i], card, bar_mm, lens, aspect_sd=_FREE_ASPECT_SD, near=fits[i])
        flags = _card_flags(card, fits[i], free)
        scale = _hung(scale_of(lens, fit, "card", len(card.ids), replace(CARD_HELD, size_sd=print_sd), flags))
        inset_px = float(np.mean([fits[j].inset_px for j in alike]))
        scales[i] = replace(scale, inset_px=inset_px, print_share=bar_mm / CARD_BAR_MM)
    return scales


def _fit_card(
    photo: Photo, card: CardSighting, bar_mm: float, lens: Lens, aspect_sd: float = FIXED, near: FlatPose | None = None
) -> FlatPose:
    corners = Corners(card_corners_mm()[list(card.ids), :, :2] * (bar_mm / CARD_BAR_MM), card.corners_px)
    return fit_flat_pose(corners, CARD_CORNER_SD_PX, picture_size(photo), lens, aspect_sd=aspect_sd, near=near)


def _fit_edges(photo: Photo, edges: Edges, lens: Lens, near: FlatPose) -> FlatPose:
    return fit_flat_edges(edges, CARD_EDGE_SD_PX, picture_size(photo), lens, near)


def stretch_of(photo: Photo, card: CardSighting) -> tuple[float, float]:
    """By how much a card looks too high for its width (log), whether by its print or its picture, and the doubt of it."""
    free = _fit_card(photo, card, CARD_BAR_MM, lens_prior(photo), aspect_sd=_FREE_ASPECT_SD)
    return math.log(free.aspect), free.aspect_sd


def _hung(scale: Scale) -> Scale:
    """The scale, its frame turned upright where the card hangs on its side or upside down."""
    turn = scale.camera.rotation
    quarters = round(math.atan2(turn[1, 0], turn[0, 0]) / _QUARTER)
    if quarters % 4 == 0:
        return scale
    back = cv2.Rodrigues(np.array([0.0, 0.0, quarters * _QUARTER]))[0]
    flags = tuple(flag for flag in scale.flags if flag != "card_not_plumb")
    return replace(scale, camera=replace(scale.camera, rotation=np.asarray(turn @ back)), flags=(*flags, "card_turned"))


def same_lens(a: Photo, b: Photo) -> bool:
    """Whether two photos were taken through one lens at one size."""
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


def picture_size(photo: Photo) -> tuple[int, int]:
    """Width and height in pixels."""
    return photo.rgb.shape[1], photo.rgb.shape[0]


def focal_flags(lens: Lens) -> list[str]:
    """What there is to doubt about a focal length."""
    return ["focal_unknown"] if lens.guessed else []


def scale_of(lens: Lens, fit: FlatPose, source: str, markers: int, held: Held, flags: list[str]) -> Scale:
    """The scale that the fit of a card or a sheet gives."""
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
        scale_sd=math.hypot(held.size_sd, fit.size_sd),
        focal_sd=fit.focal_sd if lens.known_sd is None else lens.known_sd,
        plumb_sd_deg=math.hypot(held.hang_sd_deg, fit.pitch_sd_deg),
        hang_sd_deg=held.hang_sd_deg,
        depth_sd_mm=held.depth_sd_mm,
        flags=(*flags, *(["card_oblique"] if tilt_deg > _OBLIQUE_DEG else []), *focal_flags(lens)),
    )


def _printed_oddly(fit: FlatPose, free: FlatPose, corners_px: Floats) -> bool:
    """Whether the print is stretched one way, or its squares do not go with their gaps."""
    stretch = abs(math.log(free.aspect))
    stretched = stretch > max(_ODD_ASPECT, _ODD_SDS * free.aspect_sd) and free.rms_px < fit.rms_px
    width_px = float(np.linalg.norm(corners_px[:, 0] - corners_px[:, 1], axis=1).mean())
    return stretched or abs(fit.inset_px) > max(_ODD_INSET_PX, _ODD_INSET_OF_WIDTH * width_px)
