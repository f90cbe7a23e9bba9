"""What the scale card tells of a picture that is not as it was taken: turned, mirrored, stretched; and how the card itself hangs."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.points import CARD_IDS
from fitcheck.core.records import View
from fitcheck.photo.card.find_card import LEAST_MARKERS, CardSighting, find_card
from fitcheck.photo.card.scale import stretch_of

# Heights over widths, or the other way round, of pictures as cameras and telephones store them; common practice.
USUAL_SHAPES = (1.0, 5 / 4, 4 / 3, 3 / 2, 16 / 9, 2.0)
LIKE_USUAL = 0.004  # rounding to whole pixels, and an odd row cut off; estimate
STRETCHED = 0.008  # of height over width, from which on it matters; a card shows 0.001 to 0.004
SURELY_SDS = 4.0  # of the doubt of a stretch
MOST_STRETCHED = 0.06  # beyond, who knows what else was done to it; estimate


@dataclass(frozen=True, slots=True)
class Taken:
    """How a card says that its picture was treated: mirrored first, then turned by quarters counter-clockwise to be put right."""

    mirrored: bool
    quarters: int


def as_taken(rgb: NDArray[np.uint8]) -> Taken | None:
    """How the picture must be put right so that its card stands upright; None where no card is found, mirrored or not.

    ArUco's squares are not read in a mirror, so a card that is only read there tells a mirrored picture.
    """
    for mirrored in (False, True):
        card = find_card(_grey(rgb[:, ::-1] if mirrored else rgb))
        if len(card.ids) >= LEAST_MARKERS:
            return Taken(mirrored, _quarters(card))
    return None


def mirrored_back(photo: Photo) -> Photo:
    """A copy, flagged, with left and right changed over."""
    return replace(photo, rgb=np.ascontiguousarray(photo.rgb[:, ::-1]), flags=(*photo.flags, "photo_mirrored"))


def turned(photo: Photo, quarters: int) -> Photo:
    """A copy, flagged, turned by so many quarters counter-clockwise."""
    return replace(photo, rgb=np.ascontiguousarray(np.rot90(photo.rgb, quarters)), flags=(*photo.flags, "photo_turned"))


def stretches(photos: Mapping[View, Photo]) -> dict[View, float]:
    """By how much each picture was stretched in height (log; less than 0: in width), only those that were.

    One card cannot tell a stretched picture from a stretched print. But the print is the same in all pictures, and one that was stretched
    no longer has a shape that cameras make.
    """
    found: dict[View, tuple[float, float]] = {}
    for view, photo in photos.items():
        card = find_card(photo.grey)
        if len(card.ids) == len(CARD_IDS):
            found[view] = stretch_of(photo, card)
    odd = {view: s for view, (s, sd) in found.items() if abs(s) > max(STRETCHED, SURELY_SDS * sd)}
    told = [s for s, _ in found.values()]
    alike = len(odd) == len(found) and max(told) - min(told) < STRETCHED if found else True
    shapes = all(_unusual(photos[view]) and _unusual(photos[view], s) < _unusual(photos[view]) for view, s in odd.items())
    return {} if alike and not shapes else odd


def unstretched(photo: Photo, stretch: float) -> Photo:
    """A copy, flagged, as high (or as wide) as it was before."""
    height, width = photo.rgb.shape[:2]
    size = (width, round(height * math.exp(-stretch))) if stretch > 0 else (round(width * math.exp(stretch)), height)
    rgb = cv2.resize(photo.rgb, size, interpolation=cv2.INTER_AREA).astype(np.uint8, copy=False)
    return replace(photo, rgb=rgb, flags=(*photo.flags, "photo_stretched"))


def _unusual(photo: Photo, stretch: float = 0.0) -> float:
    """How far the picture's shape, once the stretch is undone, is from a camera's (log); 0 where it is one."""
    height, width = photo.rgb.shape[:2]
    shape = abs(math.log(height / width) - stretch)
    off = min(abs(shape - math.log(usual)) for usual in USUAL_SHAPES)
    return off if off > LIKE_USUAL else 0.0


def _quarters(card: CardSighting) -> int:
    """Quarter turns counter-clockwise after which the card's squares stand upright."""
    across = (card.corners_px[:, 1] - card.corners_px[:, 0]).sum(axis=0)  # from each square's top left corner to its top right
    return round(math.atan2(across[1], across[0]) / (math.pi / 2)) % 4


def _grey(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.asarray(cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2GRAY), np.uint8)
