"""Photos that came in, opened; and what one shows by itself as soon as it is there: whether it can be used, and which view it is."""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from fitcheck.body.agreement import looks_like
from fitcheck.core.camera import Photo
from fitcheck.photo.load import load_photo, load_views
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers
from fitcheck.web.case import CasePhoto, Look
from fitcheck.web.first_look import trouble
from fitcheck.web.picture import small

SHOWN_PX = 480


def look(path: Path) -> Look:
    """Look at one photo.

    Raises
    ------
    PhotoError
        It cannot be used.
    """
    photo = load_photo(path, "front")
    height, width = photo.rgb.shape[:2]
    pose = find_people(photo)
    stickers = find_point_markers(photo, pose=pose) if pose is not None else ()
    seems = looks_like(pose, stickers) if pose is not None else None
    return Look((width, height), seems, " ".join(trouble(photo, pose, stickers)), small(photo.rgb, SHOWN_PX))


def opened(photos: Sequence[CasePhoto]) -> tuple[Photo, ...]:
    """The photos of a fitting, named by their views.

    Raises
    ------
    PhotoError
        As `load_photo`.
    """
    found = load_views({photo.view: photo.path for photo in photos})
    return tuple(
        replace(photo, name=f"{one.view}{one.path.suffix}", coarse_px=math.hypot(photo.coarse_px, one.left_px))
        for photo, one in zip(found, photos, strict=True)
    )
