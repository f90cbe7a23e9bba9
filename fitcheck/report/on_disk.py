"""Files put in their place whole or not at all."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from errno import EISDIR
from pathlib import Path

from fitcheck.core.errors import OutputError


def write_page(page: str, path: Path) -> None:
    """Write one page, whole or not at all.

    Raises
    ------
    OutputError
        The folder does not exist or cannot be written to.
    """
    with plainly(path.parent):
        if path.is_dir():
            raise IsADirectoryError(EISDIR, f"{path.name} is a folder")
        waiting = reserve(path.parent)
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


def reserve(folder: Path) -> Path:
    """A new empty file in the folder, readable as any other file there (mkstemp's own is for the owner only)."""
    handle, name = tempfile.mkstemp(prefix=".fitcheck-", suffix=".part", dir=folder)
    os.close(handle)
    mask = os.umask(0)
    os.umask(mask)
    os.chmod(name, 0o666 & ~mask)
    return Path(name)
