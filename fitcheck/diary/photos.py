"""Photos of recorded fittings: copies without any metadata in the diary's folder, or references to the user's own files."""

from __future__ import annotations

import hashlib
import io
import os
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.core.heif import read_heif
from fitcheck.diary.contract import LARGEST_PHOTO_PX

if TYPE_CHECKING:  # commands that show no photo start faster without
    import numpy as np
    from numpy.typing import NDArray

    from fitcheck.core.camera import Photo
    from fitcheck.core.diary import DiaryPhoto

FOLDER = "photos"
_QUALITY = 95
_FORMATS: tuple[str, ...] = ("JPEG", "PNG", "WEBP")  # those that a fitting is checked from
_MOST_BYTES = 300_000_000  # no photo is larger; a path that now leads to something else may have no end


def copy_photos(folder: Path, photos: Sequence[Photo]) -> list[str]:
    """Write the pixels of every photo as `<view>.jpg`, on disk for certain when this returns.

    The upright pixels are encoded anew, so nothing of the file's metadata (place, time, camera) comes along, and recorded points
    lie on the very same pixels.

    Returns
    -------
    list of str
        File names in the order of `photos`.
    """
    from PIL import Image

    make_folder(folder)
    names = []
    for photo in photos:
        encoded = io.BytesIO()
        Image.fromarray(photo.rgb).save(encoded, "JPEG", quality=_QUALITY)
        names.append(f"{photo.view}.jpg")
        with open(os.open(folder / names[-1], os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(encoded.getvalue())
            file.flush()
            os.fsync(file.fileno())
    for changed in (folder, folder.parent):
        handle = os.open(changed, os.O_RDONLY)
        os.fsync(handle)
        os.close(handle)
    return names


def make_folder(folder: Path) -> None:
    """A fitting's folder, and the one above it, for the owner only."""
    for needed in (folder.parent, folder):
        needed.mkdir(mode=0o700, exist_ok=True)


def remove_photos(folder: Path) -> None:
    """Remove one fitting's copies; those already gone are no fault."""
    if folder.is_dir():
        shutil.rmtree(folder)


def read_photo(photo: DiaryPhoto, least_height_px: int) -> NDArray[np.uint8] | None:
    """The upright picture, reduced while it stays at least so high; None when the file is gone, damaged, or no longer the same.

    Returns
    -------
    ndarray of uint8, shape (H, W, 3), or None
    """
    import numpy as np
    from PIL import Image, ImageOps

    path = Path(photo.file)
    try:
        if not photo.file or not path.is_file() or path.stat().st_size > _MOST_BYTES:
            return None
        data = path.read_bytes()
        if photo.kept == "reference" and hashlib.sha256(data).hexdigest() != photo.sha256:
            return None
        formats = _FORMATS
        if photo.file.lower().endswith((".heic", ".heif")):
            read_heif()
            formats = ("HEIF",)
        with Image.open(io.BytesIO(data), formats=formats) as image:
            if image.width * image.height > LARGEST_PHOTO_PX:
                return None
            share = least_height_px / photo.size_px[1]
            least = int(image.width * share), int(image.height * share)
            image.draft("RGB", least)  # JPEG is decoded at a half or a quarter in no time; other kinds are reduced afterwards
            picture = image.convert("RGB") if image.mode != "RGB" else image
            times = min(have // max(wanted, 1) for have, wanted in zip(picture.size, least, strict=True))
            return np.asarray(ImageOps.exif_transpose(picture.reduce(times) if times > 1 else picture))
    except (OSError, SyntaxError, ValueError, MemoryError, Image.DecompressionBombError):
        return None
