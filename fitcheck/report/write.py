"""Puts a report on disk, whole or not at all."""

import json
import os
from errno import EISDIR
from pathlib import Path

from fitcheck.core.check import FitCheck
from fitcheck.report.on_disk import plainly, reserve
from fitcheck.report.page.fitting_page import render
from fitcheck.report.result import to_json
from fitcheck.report.words.units import Units

REPORT_NAME, RESULT_NAME = "report.html", "fitcheck.json"


def write_report(check: FitCheck, out_dir: Path, units: Units) -> tuple[Path, Path]:
    """Write `report.html` and `fitcheck.json` into a folder.

    Both are for the owner's eyes only, as they show a body. They are written in full beside their place and only then renamed, so
    that an earlier report stays whole whatever goes wrong.

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
    data = _in_lines(to_json(check))
    targets = _targets(out_dir)
    waiting: list[Path] = []
    with plainly(out_dir):
        try:
            _prepare(out_dir)
            for text in (page, data):
                waiting.append(reserve(out_dir, private=True))
                waiting[-1].write_text(text, encoding="utf-8")
            for temporary, target in zip(waiting, targets, strict=True):
                os.replace(temporary, target)
        finally:
            for temporary in waiting:
                temporary.unlink(missing_ok=True)
    return targets


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
    with plainly(out_dir):
        _prepare(out_dir)
        reserve(out_dir).unlink()


def _in_lines(data: dict[str, object]) -> str:
    """JSON with a line for each entry and for each item of a list of them: readable, and written three times as fast as indented."""
    return "{\n" + ",\n".join(f"{_json(key)}: {_value_in_lines(value)}" for key, value in data.items()) + "\n}\n"


def _value_in_lines(value: object) -> str:
    if isinstance(value, (list, tuple)) and value:
        return "[\n" + ",\n".join(map(_json, value)) + "\n]"
    return _json(value)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _targets(out_dir: Path) -> tuple[Path, Path]:
    return out_dir / REPORT_NAME, out_dir / RESULT_NAME


def _prepare(out_dir: Path) -> None:
    out_dir.mkdir(parents=True, exist_ok=True)
    for target in _targets(out_dir):
        if target.is_dir():
            raise IsADirectoryError(EISDIR, f"{target.name} is a folder")
