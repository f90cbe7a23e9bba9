"""Between the first stage and the second: photos that are not as the camera took them, put right before anything is measured in them.

Looked for only where the card is missing, hangs oddly or looks stretched, so an ordinary photo costs nothing.
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.body.agreement import lying
from fitcheck.core.camera import Photo, Scale
from fitcheck.core.errors import PhotoError
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Pose, View
from fitcheck.core.seen import SeenPhoto
from fitcheck.photo.card.as_taken import MOST_STRETCHED, as_taken, mirrored_back, stretches, turned, unstretched


def put_right(seen: Sequence[SeenPhoto], cards: Mapping[View, Scale]) -> tuple[Photo, ...]:
    """The photos as the camera took them, those that were changed with a flag; the very same ones where nothing is wrong.

    Parameters
    ----------
    seen : sequence of SeenPhoto
    cards : mapping of view to Scale
        Of the photos as they are.

    Raises
    ------
    PhotoError
        A photo is stretched by more than can be put right.
    """
    photos = tuple(_upright(photo, cards.get(photo.view)) for photo in seen)
    if not any("card_scale_odd" in scale.flags for scale in cards.values()):
        return photos
    by = stretches({photo.view: photo for photo in photos})
    for photo in photos:
        if (stretch := by.get(photo.view, 0.0)) and abs(stretch) > MOST_STRETCHED:
            way = "in height" if stretch > 0 else "in width"
            raise PhotoError(
                f"{photo.name} was stretched {way} by {100 * math.expm1(abs(stretch)):.0f} %, as the squares of its scale card show.",
                "Send the camera's original file, not one that was fitted into another shape.",
            )
    return tuple(unstretched(photo, by[photo.view]) if photo.view in by else photo for photo in photos)


def _upright(seen: SeenPhoto, scale: Scale | None) -> Photo:
    """The photo, mirrored back and turned upright where it was not; a card that hangs wrong beside one who stands is left to the scale."""
    photo, pose = seen.photo, seen.pose
    if scale is not None and "card_turned" not in scale.flags:
        return photo
    taken = as_taken(photo.rgb)
    if taken is None:
        return photo if pose is None or not lying(pose) else turned(photo, _quarters(pose))
    stands = pose is not None and not lying(pose)
    if taken.mirrored:
        photo = mirrored_back(photo)
    return turned(photo, taken.quarters) if taken.quarters and not stands else photo


def _quarters(pose: Pose) -> int:
    """Quarter turns counter-clockwise after which her head is up."""
    x, y = np.subtract(pose.points_px[list(HIPS)].mean(axis=0), pose.points_px[list(SHOULDERS)].mean(axis=0))
    return round(math.atan2(-x, y) / (math.pi / 2)) % 4
