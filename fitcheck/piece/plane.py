"""From a photo of a table to the camera above it, by the scale card that lies flat in the plane of the paper."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fitcheck.core.camera import Camera, LensProfile, Photo
from fitcheck.core.errors import NothingMeasuredError, PhotoError
from fitcheck.core.points import CARD_BAR_MM, card_corners_mm
from fitcheck.core.records import Floats
from fitcheck.photo.camera.flat_target import Corners
from fitcheck.photo.camera.lens_prior import lens_prior
from fitcheck.photo.camera.pose_from_target import FlatPose, fit_flat_edges, fit_flat_pose
from fitcheck.photo.card.card_edges import find_card_edges
from fitcheck.photo.card.find_card import LEAST_MARKERS, find_card
from fitcheck.photo.card.scale import CARD_CORNER_SD_PX, CARD_EDGE_SD_PX, picture_size

EQUIVALENT_SD = 0.02  # of a focal length as the file says it: whole millimetres of 26 (EXIF 2.32), which a card seen so large can better
STEEPEST_DEG = 40.0  # from plumb: beyond it, 1 mm of curl or card thickness shifts what is seen by 1 mm (estimate)
COARSEST_PX_PER_MM = 1.5  # below, a printed line of 0.5 mm is lost (estimate)


@dataclass(frozen=True, slots=True)
class View:
    """One photo and its camera above the table.

    Attributes
    ----------
    photo : Photo
    camera : Camera
        In the frame of the card as it lies: mm, x right, y up, z to the camera.
    shift : ndarray, shape (2, 3)
        From the table's common frame (y downwards) to this photo's card, in plane: turn and shift.
    tilt_deg : float
        Of the optical axis from plumb.
    px_per_mm : float
        At the card.
    reprojection_px : float
        Root mean square misfit of the card.
    """

    photo: Photo
    camera: Camera
    shift: Floats
    tilt_deg: float
    px_per_mm: float
    reprojection_px: float

    def pixels(self, points_mm: Floats) -> Floats:
        """Where points of the table, shape (N, 2), are seen."""
        flat = points_mm @ self.shift[:, :2].T + self.shift[:, 2]
        solid = np.column_stack([flat, np.zeros(len(flat))])
        turn = cv2.Rodrigues(self.camera.rotation)[0]
        seen = cv2.projectPoints(solid, turn, self.camera.translation_mm, self.camera.matrix, self.camera.distortion)[0]
        return np.asarray(seen.reshape(-1, 2), np.float64)

    def on_table(self, pixels: Floats) -> Floats:
        """Where the rays of pixels, shape (N, 2), meet the table; nan for those that never do."""
        none = np.eye(3)
        flat = cv2.undistortPoints(pixels.reshape(-1, 1, 2), self.camera.matrix, self.camera.distortion, None, none).reshape(-1, 2)
        rays = np.column_stack([flat, np.ones(len(flat))]) @ self.camera.rotation
        eye = self.camera.eye_mm
        with np.errstate(divide="ignore", invalid="ignore"):
            far = np.where(rays[:, 2] < 0, -eye[2] / rays[:, 2], np.nan)
        card = eye[:2] + rays[:, :2] * far[:, None]
        return np.asarray((card - self.shift[:, 2]) @ self.shift[:, :2])


def see_table(photos: Sequence[Photo], bar_mm: float = CARD_BAR_MM, lenses: Sequence[LensProfile] = ()) -> list[View]:
    """Place the camera of each photo above the table.

    The card's edges give pose, bending and focal length of the lens together; the table's frame is that of the card in each photo, with y
    downwards as on paper.

    Parameters
    ----------
    photos : sequence of Photo
    bar_mm : float
        What the card's 100 mm bar measures on the print.
    lenses : sequence of LensProfile
        The user's calibrated cameras.

    Raises
    ------
    NothingMeasuredError
        No card is seen.
    PhotoError
        The card is seen too obliquely or too small.
    """
    return [_view(photo, bar_mm, lenses) for photo in photos]


def _view(photo: Photo, bar_mm: float, lenses: Sequence[LensProfile]) -> View:
    card = find_card(np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), np.uint8))
    if len(card.ids) < LEAST_MARKERS:
        raise NothingMeasuredError(
            f"{photo.name} does not show the scale card.",
            "Lay the printed card flat beside the paper, whole and uncovered, and photograph both together.",
        )
    lens = lens_prior(photo, lenses)
    if lens.known_sd is not None:
        lens = replace(lens, focal_sd=EQUIVALENT_SD, known_sd=None)
    share = bar_mm / CARD_BAR_MM
    fit = fit_flat_pose(
        Corners(card_corners_mm()[list(card.ids), :, :2] * share, card.corners_px), CARD_CORNER_SD_PX, picture_size(photo), lens
    )
    edges = find_card_edges(photo.rgb, card.ids, share, fit.camera)
    if edges is not None:
        fit = fit_flat_edges(edges, CARD_EDGE_SD_PX, picture_size(photo), lens, fit)
    view = View(
        photo,
        fit.camera,
        np.array([[1.0, 0.0, 0.0], [0.0, -1.0, 0.0]]),
        _tilt_deg(fit),
        fit.focal_px / float(fit.translation_mm[2]),
        fit.rms_px,
    )
    if view.tilt_deg > STEEPEST_DEG:
        raise PhotoError(
            f"In {photo.name} the camera was held {view.tilt_deg:.0f} degrees off straight above the card.",
            "Lay the card flat on the table beside the paper and hold the camera level above both, at most 25 degrees off.",
        )
    if view.px_per_mm < COARSEST_PX_PER_MM:
        raise PhotoError(
            f"{photo.name} shows a millimetre in only {view.px_per_mm:.1f} pixels.",
            "Go nearer, use the camera's full resolution, or photograph the piece in two or three overlapping parts.",
        )
    return view


def _tilt_deg(fit: FlatPose) -> float:
    return math.degrees(math.acos(np.clip(-fit.rotation[2, 2], -1.0, 1.0)))
