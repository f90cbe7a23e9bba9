"""What speaks against a photo, told as soon as it is there: before the full check, and while she still stands before the camera."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.body.agreement import looks_like, lying
from fitcheck.core.camera import Photo
from fitcheck.core.flags import FLAGS
from fitcheck.core.records import Pose, Sighting, View
from fitcheck.film.which_view import OFF_SQUARE_DEG, off_square_deg
from fitcheck.photo.card.find_card import LEAST_MARKERS, find_card
from fitcheck.photo.floor.find_sheets import find_sheets
from fitcheck.photo.quality import photo_flags

NOTHING_TO_MEASURE_BY = (
    "Neither the scale card nor both floor sheets are seen in this photo.",
    "Have the card, or both sheets beside your feet, wholly in the picture and evenly lit.",
)
ASKEW = ("You stand half turned in this photo.", "Stand on the toe strips, so that front, side or back squarely faces the camera.")
BOTH = 2  # floor sheets


def trouble(photo: Photo, pose: Pose | None, stickers: Sequence[Sighting]) -> tuple[str, ...]:
    """What is wrong with a photo, each as a sentence and what to do about it; none where it can be used.

    Parameters
    ----------
    photo : Photo
        Its view is not known yet.
    pose : Pose or None
        Who was found in it.
    stickers : sequence of Sighting
        Those on her.
    """
    found = [f"{FLAGS[code].says} {FLAGS[code].retake}" for code in photo_flags(photo, pose)]
    if pose is not None and not lying(pose) and is_askew(pose, looks_like(pose, stickers)):
        found.append(" ".join(ASKEW))
    if not has_scale(photo.grey, photo.rgb):
        found.append(" ".join(NOTHING_TO_MEASURE_BY))
    return tuple(found)


def is_askew(pose: Pose, view: View | None) -> bool:
    """Whether she stands neither front, back nor side to the camera, as far as the pose tells (to some ten degrees)."""
    return view is None or off_square_deg(pose, view) > OFF_SQUARE_DEG


def has_scale(grey: NDArray[np.uint8], rgb: NDArray[np.uint8]) -> bool:
    """Whether the scale card or both floor sheets are seen."""
    return len(find_card(grey).ids) >= LEAST_MARKERS or len(find_sheets(rgb)) == BOTH
