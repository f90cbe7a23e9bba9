"""Files that come from the phone in pieces: what is there stays when the connection is lost, and the next piece goes on from it."""

import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from fitcheck.core.errors import PhotoError
from fitcheck.core.own_files import owner_only
from fitcheck.web.uploads import FILM_BYTES, HEAD_BYTES, PHOTO_BYTES, film_kind_of, kind_of

MOST_BEGUN = 12  # files of one fitting that are begun and not whole
_ID = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a file.

    Attributes
    ----------
    file : str
        What the phone calls the file, 32 hexadecimal digits; the same file again has the same name.
    at : int
        Where in the file it begins, in bytes.
    size : int
        Of the whole file, in bytes.
    """

    file: str
    at: int
    size: int
    data: bytes


class Incoming:
    """The files of one fitting that are on their way, in its folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def have(self, file: str) -> int:
        """How many bytes of a file are there.

        Raises
        ------
        PhotoError
            No file is called so.
        """
        path = self._part(file)
        return path.stat().st_size if path.exists() else 0

    def add(self, piece: Piece) -> Path | None:
        """Take a piece; one that does not go on where the file ends so far is left alone.

        Returns
        -------
        Path or None
            The whole file, once it is whole.

        Raises
        ------
        PhotoError
            It is neither photo nor film, is too large, or there is no room for it; nothing of it is then left.
        """
        path = self._part(piece.file)
        have = self.have(piece.file)
        if piece.at != have:
            return None
        try:
            self._refuse(path, piece)
            with open(path, "ab", opener=owner_only) as file:
                file.write(piece.data)
            if have + len(piece.data) < piece.size:
                return None
            return path.rename(self._folder / f"{secrets.token_hex(8)}{ending_of(_head(path))}")
        except OSError as error:
            path.unlink(missing_ok=True)
            raise PhotoError(f"The file cannot be kept while it is read ({error.strerror}).", "Free some space and try again.") from None
        except PhotoError:
            path.unlink(missing_ok=True)
            raise

    def _refuse(self, path: Path, piece: Piece) -> None:
        """What must not be written."""
        head = _head(path) if path.exists() else piece.data[:HEAD_BYTES]
        most = PHOTO_BYTES if is_photo(ending_of(head)) else FILM_BYTES
        if piece.size > most or piece.at + len(piece.data) > piece.size:
            raise PhotoError(f"This file is larger than the {most // 1_000_000} MB that are taken.", "Choose a smaller one.")
        if not path.exists() and len(list(self._folder.glob("*.coming"))) >= MOST_BEGUN:
            raise PhotoError("Too many files were begun and not sent to their end.", "Ask for a new fitting on the computer.")

    def _part(self, file: str) -> Path:
        if not _ID.fullmatch(file):
            raise PhotoError("This file has no name that is taken.", "Load the page again.")
        return self._folder / f"{file}.coming"


def ending_of(head: bytes) -> str:
    """The ending for a photo or film that begins so.

    Raises
    ------
    PhotoError
        It is neither.
    """
    for kind in (kind_of, film_kind_of):
        try:
            return kind(head)
        except PhotoError:
            continue
    raise PhotoError("This file is neither a photo nor a film that can be read.", "Choose jpg, png, webp or heic, or mp4, mov or webm.")


def is_photo(ending: str) -> bool:
    """Whether an ending is that of a photo."""
    return ending in (".jpg", ".png", ".webp", ".heic")


def _head(path: Path) -> bytes:
    with open(path, "rb") as file:
        return file.read(HEAD_BYTES)
