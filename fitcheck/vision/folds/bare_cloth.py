"""The garment at a fixed size of millimetres per pixel, with pen lines, pins and stickers filled in from the cloth around them."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.light import GAMMA
from fitcheck.core.records import Floats, SeamLine, Sighting
from fitcheck.vision.cloth.find_cloth import Cloth
from fitcheck.vision.cloth.log_colour import log_colour
from fitcheck.vision.lines.seams import hidden_by

STEP_MM = 2.5  # per pixel: folds are 10 mm wide and more
LINE_MM = 3.5  # half width left out around a seam line
BRIDGES_MM = (5.0, 15.0)  # widths of the means that fill in pen lines and stickers
FINE_SIGMA = 2.0  # pixels: wider means are taken on a grid on which they are about that wide
LEAST_WEIGHT = 1e-3  # of the known pixels, by which a mean is divided at least
LEAST_SHARE = 0.12  # of such a mean's weight that must be bare cloth
LINEAR = ((np.arange(256) / 255.0) ** GAMMA).astype(np.float32)  # light of each grey level
LUMA = np.array([[0.2126, 0.7152, 0.0722]], np.float32)  # of linear red, green and blue (ITU-R BT.709)


@dataclass(frozen=True, slots=True)
class BareCloth:
    """The garment of one photo in pixels of STEP_MM.

    Attributes
    ----------
    brightness : ndarray of float32, shape (H, W)
        Linear, 0 where it is not known.
    hangs : ndarray of bool, shape (H, W)
        Where the garment is.
    shows : ndarray of bool, shape (H, W)
        Where its cloth shows: no sticker, no pen line, no foreign colour.
    inward_mm : ndarray of float32, shape (H, W)
        Distance from the garment's outline; an opened front or a neckline is no outline of the body.
    origin_px : ndarray, shape (2,)
        Of the garment's box in the photo.
    zoom : ndarray, shape (2,)
        Pixels here to one of the photo, across and down: sizes are whole numbers.
    """

    brightness: NDArray[np.float32]
    hangs: NDArray[np.bool_]
    shows: NDArray[np.bool_]
    inward_mm: NDArray[np.float32]
    origin_px: Floats
    zoom: Floats

    def in_photo(self, points: Floats) -> Floats:
        """Points (N, 2) of this picture in pixels of the photo."""
        return np.asarray((points + 0.5) / self.zoom - 0.5 + self.origin_px)


def bare_cloth(photo: Photo, cloth: Cloth, sightings: Sequence[Sighting], seams: Sequence[SeamLine], mm_per_px: float) -> BareCloth:
    """The garment of one photo with everything that is not cloth bridged.

    Parameters
    ----------
    photo : Photo
    cloth : Cloth
        Where the garment lies (`cloth.find_cloth`).
    sightings : sequence of Sighting
        Stickers and dots, which hide the cloth.
    seams : sequence of SeamLine
        Drawn lines.
    mm_per_px : float
        Scale of the photo at the body.
    """
    x0, y0, x1, y1 = cloth.box_px
    rgb = _resized(photo.rgb[y0:y1, x0:x1], mm_per_px / STEP_MM)
    origin, zoom = np.array([x0, y0], float), np.array(rgb.shape[1::-1]) / (x1 - x0, y1 - y0)
    hangs, shows = _masks(rgb, cloth, sightings, seams, zoom)
    luma = cv2.transform(cv2.LUT(rgb, LINEAR), LUMA)
    return BareCloth(bridged(luma, shows, hangs), hangs, shows, inward_mm(hangs), origin, zoom)


def bridged(brightness: NDArray[np.float32], shows: NDArray[np.bool_], hangs: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Brightness with pen lines and stickers filled in from the cloth around; 0 where there is none near, and off the garment."""
    known = shows.astype(np.float32)
    filled, done = brightness * known, shows.copy()
    for width in BRIDGES_MM:
        mean, share = mean_of_known(brightness * known, known, width)
        holes = ~done & hangs & (share > LEAST_SHARE)
        filled[holes] = mean[holes]
        done |= holes
    return np.asarray(filled * done, np.float32)


def mean_of_known(
    values: NDArray[np.float32], known: NDArray[np.float32], width_mm: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Gaussian mean of the known pixels around each (values are 0 elsewhere), and their share of the weight.

    Wide means are taken on a coarser grid, which they do not notice.
    """
    sigma = width_mm / STEP_MM
    coarse = max(1, int(sigma / FINE_SIGMA))
    total, weight = (_blurred(picture, sigma, coarse) for picture in (values, known))
    return np.asarray(total / np.maximum(weight, np.float32(LEAST_WEIGHT)), np.float32), weight


def _blurred(picture: NDArray[np.float32], sigma: float, coarse: int) -> NDArray[np.float32]:
    if coarse == 1:
        return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma), np.float32)
    small = cv2.resize(picture, None, fx=1 / coarse, fy=1 / coarse, interpolation=cv2.INTER_AREA)
    wide = cv2.GaussianBlur(small, (0, 0), sigma / coarse)
    return np.asarray(cv2.resize(wide, picture.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def _resized(rgb: NDArray[np.uint8], zoom: float) -> NDArray[np.uint8]:
    """By halves first, which is fast, then the rest of the way."""
    size = (round(rgb.shape[1] * zoom), round(rgb.shape[0] * zoom))
    while rgb.shape[1] > 2 * size[0] and rgb.shape[0] > 2 * size[1]:
        even = rgb[: rgb.shape[0] // 2 * 2, : rgb.shape[1] // 2 * 2]
        rgb = np.asarray(cv2.resize(even, (even.shape[1] // 2, even.shape[0] // 2), interpolation=cv2.INTER_AREA), np.uint8)
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA if zoom < 1 else cv2.INTER_LINEAR), np.uint8)


def _masks(
    rgb: NDArray[np.uint8], cloth: Cloth, sightings: Sequence[Sighting], seams: Sequence[SeamLine], zoom: Floats
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Where the garment hangs, and where its cloth shows."""
    size = rgb.shape[1::-1]
    mask = cv2.morphologyEx(cloth.mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    hangs = np.asarray(cv2.erode(cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST), np.ones((3, 3), np.uint8)), np.bool_)
    origin = np.array(cloth.box_px[:2], float)
    covered = (~cloth.has_own_colour(log_colour(rgb)) & hangs).astype(np.uint8)
    for polygon in hidden_by(sightings, STEP_MM / float(zoom.mean())):
        cv2.fillPoly(covered, [_at(polygon, origin, zoom)], 1)
    for seam in seams:
        cv2.polylines(covered, [_at(seam.points_px, origin, zoom)], False, 1, max(1, round(2 * LINE_MM / STEP_MM) - 1))
    covered = cv2.dilate(covered, np.ones((3, 3), np.uint8))
    return hangs, hangs & (covered == 0)


def _at(points: Floats, origin: Floats, zoom: Floats) -> NDArray[np.int32]:
    return np.asarray(np.round((points - origin + 0.5) * zoom - 0.5), np.int32)


def inward_mm(hangs: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Distance from the garment's outline, mm."""
    first, last = hangs.argmax(1), hangs.shape[1] - 1 - hangs[:, ::-1].argmax(1)
    columns, some = np.arange(hangs.shape[1]), np.asarray(hangs.any(axis=1))
    whole = (columns >= first[:, None]) & (columns <= last[:, None]) & some[:, None]
    return np.asarray(cv2.distanceTransform(np.pad(whole.astype(np.uint8), 1), cv2.DIST_L2, 3)[1:-1, 1:-1] * STEP_MM, np.float32)
