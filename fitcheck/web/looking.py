"""What one photo shows by itself, as soon as it is there: whether it can be used, and which view it is."""

from dataclasses import dataclass
from pathlib import Path

from fitcheck.body.agreement import looks_like
from fitcheck.core.flags import FLAGS
from fitcheck.core.records import View
from fitcheck.photo.load import load_photo
from fitcheck.photo.quality import photo_flags
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers


@dataclass(frozen=True, slots=True)
class Look:
    """A first look at a photo; `trouble` is a sentence for her, or nothing."""

    size_px: tuple[int, int]
    seems: View | None
    trouble: str = ""


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
    trouble = " ".join(f"{FLAGS[code].says} {FLAGS[code].retake}" for code in photo_flags(photo, pose))
    if pose is None:
        return Look((width, height), None, trouble)
    return Look((width, height), looks_like(pose, find_point_markers(photo, pose=pose)), trouble)
