import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from fitcheck.core.advice import Round
from fitcheck.core.check import FitCheck
from fitcheck.core.errors import OutputError
from fitcheck.report import write
from fitcheck.report.write import can_write, write_report

EARLIER = {"report.html": "an earlier page", "fitcheck.json": "an earlier result"}
NOBODY = 65534


@pytest.fixture
def small() -> FitCheck:
    return FitCheck((), (), (), (), (), (), Round((), "Nothing to alter."))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in EARLIER.items():
        (tmp_path / name).write_text(text)
    return tmp_path


def contents(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in folder.iterdir()}


@contextmanager
def as_nobody() -> Iterator[None]:
    """As a user whom read-only folders stop; root is stopped by nothing."""
    mine = os.geteuid()
    if mine == 0:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(mine)


def test_both_files_are_written_and_nothing_else(check: FitCheck, tmp_path: Path) -> None:
    out = tmp_path / "new" / "folder"
    page, data = write_report(check, out, "in")
    assert sorted(path.name for path in out.iterdir()) == ["fitcheck.json", "report.html"]
    assert page.read_text("utf-8").startswith("<!DOCTYPE html>")
    assert json.loads(data.read_text("utf-8"))["version"] == 1
    assert {file.stat().st_mode & 0o777 for file in (page, data)} == {0o600}  # they show a body


def test_the_data_file_has_a_line_for_each_entry_and_each_item(check: FitCheck, tmp_path: Path) -> None:
    lines = write_report(check, tmp_path, "cm")[1].read_text("utf-8").splitlines()
    assert lines[:2] == ["{", '"version": 1,']
    first = lines.index('"seams": [') + 1
    assert [json.loads(line.rstrip(","))["view"] for line in lines[first : lines.index("],", first)]] == [
        seam.view for photo in check.photos for seam in photo.seams
    ]


def test_an_earlier_report_is_replaced(small: FitCheck, folder: Path) -> None:
    write_report(small, folder, "cm")
    found = contents(folder)
    assert set(found) == set(EARLIER)
    assert "Nothing to alter." in found["report.html"]
    assert json.loads(found["fitcheck.json"])["summary"] == "Nothing to alter."


def test_when_the_second_write_fails_the_earlier_files_stay_whole(small: FitCheck, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real, calls = Path.write_text, []

    def full_disk(path: Path, text: str, encoding: str) -> int:
        calls.append(path)
        if len(calls) == 2:
            real(path, text[:10], encoding)
            raise OSError(28, "No space left on device")
        return real(path, text, encoding)

    monkeypatch.setattr(Path, "write_text", full_disk)
    with pytest.raises(OutputError, match="No space left on device"):
        write_report(small, folder, "cm")
    assert len(calls) == 2
    assert contents(folder) == EARLIER


def test_when_a_rename_fails_every_file_is_whole(small: FitCheck, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.replace

    def failing(source: Path, target: Path) -> None:
        if target.name == "fitcheck.json":
            raise OSError(5, "Input/output error")
        real(source, target)

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(OutputError):
        write_report(small, folder, "cm")
    found = contents(folder)
    assert set(found) == set(EARLIER)
    assert found["report.html"].rstrip().endswith("</html>")
    assert found["fitcheck.json"] == EARLIER["fitcheck.json"]


def test_a_folder_in_the_place_of_a_file_stops_it_before_anything_is_replaced(small: FitCheck, tmp_path: Path) -> None:
    (tmp_path / "report.html").write_text("an earlier page")
    (tmp_path / "fitcheck.json").mkdir()
    with pytest.raises(OutputError, match=r"fitcheck\.json is a folder"):
        write_report(small, tmp_path, "cm")
    assert (tmp_path / "report.html").read_text() == "an earlier page"
    assert len(list(tmp_path.iterdir())) == 2


def test_a_read_only_folder_is_told_in_one_sentence(small: FitCheck, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(write, "render", lambda *_: "a page")  # nobody may not read the program's own folder, if that is root's
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o555)
        with as_nobody(), pytest.raises(OutputError) as early:
            can_write(folder)
        with as_nobody(), pytest.raises(OutputError) as caught:
            write_report(small, folder, "cm")
        assert early.value.problem == caught.value.problem
        assert caught.value.problem == f"The report cannot be written to {folder} (Permission denied)."
        assert caught.value.exit_code == 5
        assert "--out" in caught.value.next_step
        assert list(folder.iterdir()) == []


def test_a_writable_folder_is_made_and_left_as_it_was(folder: Path) -> None:
    can_write(folder)
    assert contents(folder) == EARLIER
    can_write(folder / "new")
    assert contents(folder / "new") == {}


def test_a_file_in_the_place_of_the_folder(small: FitCheck, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(OutputError, match="cannot be written"):
        write_report(small, tmp_path / "out", "cm")
    assert (tmp_path / "out").read_text() == "a file"
