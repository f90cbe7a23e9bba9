"""Puts a report on disk, whole or not at all."""

import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from errno import EISDIR
from pathlib import Path

from fitcheck.core.errors import OutputError
from fitcheck.core.records import FitCheck
from fitcheck.report.html import render
from fitcheck.report.result import to_json
from fitcheck.report.units import Units

REPORT_NAME, RESULT_NAME = "report.html", "fitcheck.json"


def write_report(check: FitCheck, out_dir: Path, units: Units) -> tuple[Path, Path]:
    """Write `report.html` and `fitcheck.json` into a folder.

    Both are written in full beside their place and only then renamed, so that an earlier report stays whole whatever goes wrong.

    Parameters
    ----------
    check : FitCheck
    out_dir : Path
        Made if it does not exist.
    units : {"cm", "in"}
        Of the page; the data file is in mm.

    Returns
    -------
    tuple of Path
        The page and the data file.

    Raises
    ------
    OutputError
        The folder cannot be made or written to.
    """
    page = render(check, units)
    data = json.dumps(to_json(check), ensure_ascii=False, allow_nan=False, indent=1) + "\n"
    targets = _targets(out_dir)
    waiting: list[Path] = []
    with _plainly(out_dir):
        try:
            _prepare(out_dir)
            for text in (page, data):
                waiting.append(_reserve(out_dir))
                waiting[-1].write_text(text, encoding="utf-8")
            for temporary, target in zip(waiting, targets, strict=True):
                os.replace(temporary, target)
        finally:
            for temporary in waiting:
                temporary.unlink(missing_ok=True)
    return targets


def write_page(page: str, path: Path) -> None:
    """Write one page, whole or not at all.

    Raises
    ------
    OutputError
        The folder does not exist or cannot be written to.
    """
    with _plainly(path.parent):
        if path.is_dir():
            raise IsADirectoryError(EISDIR, f"{path.name} is a folder")
        waiting = _reserve(path.parent)
        try:
            waiting.write_text(page, encoding="utf-8")
            os.replace(waiting, path)
        finally:
            waiting.unlink(missing_ok=True)


def can_write(out_dir: Path) -> None:
    """Make sure a report can be written to a folder, before the work that it would be lost for.

    Parameters
    ----------
    out_dir : Path
        Made if it does not exist.

    Raises
    ------
    OutputError
        As `write_report`.
    """
    with _plainly(out_dir):
        _prepare(out_dir)
        _reserve(out_dir).unlink()


@contextmanager
def _plainly(out_dir: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(
            f"The report cannot be written to {out_dir} ({error.strerror}).",
            "Choose a folder you may write to with --out, or free some space.",
        ) from error


def _targets(out_dir: Path) -> tuple[Path, Path]:
    return out_dir / REPORT_NAME, out_dir / RESULT_NAME


def _prepare(out_dir: Path) -> None:
    out_dir.mkdir(parents=True, exist_ok=True)
    for target in _targets(out_dir):
        if target.is_dir():
            raise IsADirectoryError(EISDIR, f"{target.name} is a folder")


def _reserve(folder: Path) -> Path:
    """A new empty file in the folder, readable as any other file there (mkstemp's own is for the owner only)."""
    handle, name = tempfile.mkstemp(prefix=".fitcheck-", suffix=".part", dir=folder)
    os.close(handle)
    mask = os.umask(0)
    os.umask(mask)
    os.chmod(name, 0o666 & ~mask)
    return Path(name)
