"""Files put in their place whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from errno import EISDIR
from pathlib import Path

from fitcheck.core.errors import OutputError
from fitcheck.core.own_files import owner_only


def write_page(page: str, path: Path) -> None:
    """Write one page, whole or not at all, for its owner's eyes only: it shows a body.

    Raises
    ------
    OutputError
        The folder does not exist or cannot be written to.
    """
    with plainly(path.parent):
        if path.is_dir():
            raise IsADirectoryError(EISDIR, f"{path.name} is a folder")
        waiting = reserve(path.parent, private=True)
        try:
            waiting.write_text(page, encoding="utf-8")
            os.replace(waiting, path)
        finally:
            waiting.unlink(missing_ok=True)


@contextmanager
def in_place(path: Path) -> Iterator[Path]:
    """A file to write, which takes the place of `path` only when the block ends well.

    Raises
    ------
    OutputError
        The folder does not exist or cannot be written to.
    """
    waiting: Path | None = None
    try:
        waiting = reserve(path.parent)
        yield waiting
        os.replace(waiting, path)
    except OSError as error:
        raise OutputError(
            f'The file "{path}" cannot be written ({error.strerror}).', "Choose a folder you may write to with --out."
        ) from None
    finally:
        if waiting is not None:
            waiting.unlink(missing_ok=True)


@contextmanager
def plainly(out_dir: Path) -> Iterator[None]:
    """What the system refuses, as one clear sentence.

    Raises
    ------
    OutputError
    """
    try:
        yield
    except OSError as error:
        raise OutputError(
            f"The report cannot be written to {out_dir} ({error.strerror}).",
            "Choose a folder you may write to with --out, or free some space.",
        ) from error


def reserve(folder: Path, private: bool = False) -> Path:
    """A new empty file in the folder, readable as any other file there, or by its owner only: what shows a body."""
    path = folder / f".fitcheck-{secrets.token_hex(8)}.part"
    open(path, "xb", opener=owner_only if private else None).close()
    return path
