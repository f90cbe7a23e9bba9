"""Photos and films that the browser sends, each as the body of one request: taken into the private folder under names of ours."""

import secrets
from collections.abc import AsyncIterator, Callable, Mapping
from pathlib import Path

from fitcheck.core.errors import PhotoError
from fitcheck.core.own_files import owner_only

HEAD_BYTES = 16
PHOTO_BYTES = 60_000_000  # several times a phone's largest photo
FILM_BYTES = 2_000_000_000  # five minutes in 4K
# what a file begins with, and the name's ending it gets here; what it was called does not matter
_JPEG, _PNG, _RIFF, _WEBP = b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF", b"WEBP"
_EBML = b"\x1aE\xdf\xa3"
_HEIF_BRANDS: Mapping[bytes, str] = {brand: ".heic" for brand in (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")}


def kind_of(head: bytes) -> str:
    """The ending for a file that begins so.

    Raises
    ------
    PhotoError
        It is no photo.
    """
    if head.startswith(_JPEG):
        return ".jpg"
    if head.startswith(_PNG):
        return ".png"
    if head[:4] == _RIFF and head[8:12] == _WEBP:
        return ".webp"
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        return _HEIF_BRANDS[head[8:12]]
    raise PhotoError("This file is no photo that can be read.", "Choose jpg, png, webp or heic files.")


def film_kind_of(head: bytes) -> str:
    """The ending for a film that begins so.

    Raises
    ------
    PhotoError
        It is no film.
    """
    if head.startswith(_EBML):
        return ".webm"
    if head[4:8] == b"ftyp" and head[8:12] not in _HEIF_BRANDS:
        return ".mov" if head[8:12] == b"qt  " else ".mp4"
    raise PhotoError("This file is no film that can be read.", "Choose an mp4, mov or webm file.")


async def take(body: AsyncIterator[bytes], folder: Path, kind: Callable[[bytes], str] = kind_of) -> Path:
    """Write a photo's or film's bytes into the folder, readable by its owner only.

    Parameters
    ----------
    kind : callable
        Tells the ending by what the file begins with, or refuses it.

    Raises
    ------
    PhotoError
        It is none, or there is no room for it; nothing of it is then left.
    """
    head = b""
    path: Path | None = None
    try:
        waiting = folder / secrets.token_hex(8)
        with open(waiting, "xb", opener=owner_only) as file:
            path = waiting
            async for chunk in body:
                head = (head + chunk[:HEAD_BYTES])[:HEAD_BYTES] if len(head) < HEAD_BYTES else head
                if len(head) == HEAD_BYTES:
                    kind(head)  # before all of something else is written
                file.write(chunk)
        done = waiting.with_suffix(kind(head))
        waiting.rename(done)
        path = None
        return done
    except OSError as error:
        raise PhotoError(f"The file cannot be kept while it is read ({error.strerror}).", "Free some space and try again.") from None
    finally:
        if path is not None:
            path.unlink(missing_ok=True)
