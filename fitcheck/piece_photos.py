"""The photos of a pattern piece, opened; it loads next to nothing itself, so that a command can begin with them."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.core.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.core.camera import Photo

MOST_PHOTOS = 6


def open_photos(paths: Sequence[Path]) -> "list[Photo]":
    """One to six photos.

    Raises
    ------
    UsageError
        More than six.
    PhotoError
        As `load_photo`.
    """
    from fitcheck.photo.load import load_photo

    if len(paths) > MOST_PHOTOS:
        raise UsageError(f"{len(paths)} photos of one piece are more than are joined.", f"Give at most {MOST_PHOTOS}.")
    return [load_photo(path, "front") for path in paths]
