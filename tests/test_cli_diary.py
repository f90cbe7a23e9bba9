"""The diary's commands as a user meets them."""

import io
import json
import re
import shutil
import subprocess
import sys
from base64 import b64decode
from datetime import date
from pathlib import Path

import pytest
from diary.conftest import fit_check, measurement, new_fitting, old_diary, step
from PIL import Image
from typer.testing import CliRunner

from fitcheck.cli import app
from fitcheck.core.check import PostureValue
from fitcheck.diary import forgetting
from fitcheck.diary.database import FILE_NAME, NoRoomError
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary

SAMPLES = Path(__file__).parents[1] / "sample_images"
KEY = "shoulder_seam_behind_tip_R"
run = CliRunner().invoke


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    """A diary of two rounds and a repeat, and a working folder to write pages to."""
    monkeypatch.chdir(tmp_path)
    posture = (PostureValue("shoulder_forward", "wearer_right", 45.0, "mm", 2.0),)
    rounds = [((measurement(10.2),), (step(10.0, (KEY, 10.2, 0.2)),)), ((measurement(0.4),), ())]
    with Diary(tmp_path / "diary", create=True) as diary:
        for k, (measurements, steps) in enumerate(rounds):
            record(diary, new_fitting(fit_check(k, measurements, steps, posture), day=date(2026, 4, 2 + 7 * k)))
        record(diary, new_fitting(fit_check("again", rounds[1][0], (), posture), day=date(2026, 4, 9), retake=True))
    return tmp_path / "diary"


def ok(folder: Path, *words: str) -> str:
    result = run(app, [*words, "--diary", str(folder)])
    assert result.exit_code == 0, result.output
    return result.stdout


def says(result, code: int, *words: str) -> None:
    assert result.exit_code == code, result.output
    assert all(word in result.stderr for word in words), result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_check_records_only_when_asked(photos, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    assert run(app, ["check", str(photos), "--wearer", "Anna", "--garment", "bodice"]).exit_code == 0
    assert not (tmp_path / "home").exists()
    says(run(app, ["check", str(photos), "--diary"]), 2, "whose fitting and which garment", "--wearer")
    told = ["check", str(photos), "--wearer", "Anna", "--garment", "bodice", "--retake", "--keep-photos", "reference"]
    result = run(app, [*told, "--diary"])
    assert result.exit_code == 0, result.output
    assert "recorded as fitting 1" in result.stdout
    home = tmp_path / "home" / "fitcheck" / "diary"
    said = ok(home, "diary", "list")
    assert "Anna" in said
    assert "repeat" in said
    assert not (home / "photos").exists()


@pytest.fixture
def photos(tmp_path) -> Path:
    folder = tmp_path / "photos"
    folder.mkdir()
    shutil.copy(SAMPLES / "forward_shoulder" / "front.jpg", folder / "front.jpg")
    return folder


def test_compare_the_last_two_rounds(folder):
    said = ok(folder, "compare")
    assert "1 solved" in said
    assert "did what it should" in said
    page = Path("compare.html").read_text()
    assert page.count("data:image/jpeg;base64,") == 4  # two views, before and after; the repeat is passed over
    assert "Solved" in page
    for data in re.findall(r"base64,([A-Za-z0-9+/=]+)", page):
        assert not Image.open(io.BytesIO(b64decode(data))).getexif()
    assert "://" not in re.sub(r"base64,[A-Za-z0-9+/=]+", "", page)
    assert "3/8" in (ok(folder, "compare", "1", "2", "--units", "in"), Path("compare.html").read_text())[1]


def test_compare_with_a_photo_gone(folder):
    next((folder / "photos").rglob("front.jpg")).unlink()
    assert "1 photo is missing" in ok(folder, "compare", "1", "2") or "1 photo is missing" in ok(folder, "compare", "1", "3")
    shutil.rmtree(folder / "photos")
    assert "4 photos are missing" in ok(folder, "compare", "1", "2")
    assert "copy of this photo is missing" in Path("compare.html").read_text()


def test_profile_and_posture(folder):
    assert "forward shoulder" in ok(folder, "profile", "anna")
    assert "1 of 1" in ok(folder, "profile", "Anna")
    assert "No change of posture" in ok(folder, "posture", "Anna")
    page = Path("posture.html").read_text()
    assert page.count('class="plot"') == 1
    assert "no medical device" in page
    assert "2 fittings" in page  # the repeat counts with its day


def test_notes_tape_and_list(folder):
    ok(folder, "diary", "note", "hem crooked", "--fitting", "2")
    ok(folder, "diary", "tape", "Anna", "bust", "36", "--unit", "in")
    ok(folder, "profile", "Anna")
    page = Path("profile.html").read_text()
    assert "hem crooked" in page
    assert "91.4\u00a0cm" in page
    says(run(app, ["diary", "note", "x", "--diary", str(folder)]), 2, "--wearer")
    says(run(app, ["diary", "tape", "Anna", "bust", "36", "--unit", "ell", "--diary", str(folder)]), 2, "no unit")


def test_export_import_delete(folder, tmp_path):
    ok(folder, "diary", "export", "Anna", "--out", "anna.zip")
    said = ok(folder, "diary", "delete", "Anna", "--yes")
    assert "3 fittings" in said
    assert "6 photos copied" in said
    assert "No fitting" in ok(folder, "diary", "list")
    assert "Anna: 3 fittings" in ok(folder, "diary", "import", "anna.zip")
    assert run(app, ["diary", "delete", "--fitting", "4", "--diary", str(folder)], input="n\n").exit_code == 1
    assert "Removed fitting 4" in ok(folder, "diary", "delete", "--fitting", "4", "--yes")


def test_rescue_as_the_message_says(folder, tmp_path):
    (folder / FILE_NAME).rename(tmp_path / "old.sqlite")
    assert "damaged-1" in ok(folder, "diary", "rescue", "old.sqlite")
    shutil.rmtree(folder / "damaged-1")
    (folder / FILE_NAME).rename(tmp_path / "old.sqlite")
    assert "3 fittings rescued" in ok(folder, "diary", "rescue", "old.sqlite")
    assert "1 solved" in ok(folder, "compare")


def test_what_cannot_be(folder, tmp_path):
    at = ["--diary", str(folder)]
    says(run(app, ["compare", "1", *at]), 2, "One fitting")
    says(run(app, ["compare", "1", "99", *at]), 8, "no fitting number 99")
    says(run(app, ["profile", "Clara", *at]), 8, "no wearer named Clara", "Anna")
    says(run(app, ["posture", "Anna", "--diary", str(tmp_path / "absent")]), 8, "no diary")
    says(run(app, ["posture", "Anna", *at, "--out", str(tmp_path / "absent" / "x.html")]), 5, "cannot be written")
    says(run(app, ["diary", "delete", *at]), 2, "Nothing was named")
    (folder / FILE_NAME).write_text("broken" * 1000)
    says(run(app, ["compare", *at]), 8, "damaged", "rescue")


def test_an_intact_diary_is_never_called_damaged(folder, tmp_path):
    """What cannot be kept is said; nothing sends her to move or rescue a diary that is whole."""
    at = ["--diary", str(folder)]
    ok(folder, "diary", "export", "Anna", "--out", "anna.zip")
    for words, code, said in (
        (["diary", "import", "anna.zip", "--as", "ANNA"], 8, "already knows Anna"),
        (["diary", "import", "anna.zip", "--as", " "], 8, "no name"),
        (["diary", "tape", "Anna", "bust", "nan"], 8, "is no number"),
        (["diary", "tape", "Anna", "", "90"], 8, "name of a tape is missing"),
        (["diary", "tape", "Anna", "x" * 201, "90"], 8, "longer than 200"),
        (["diary", "note", "x", "--fitting", "9" * 25], 8, "too large"),
        (["diary", "note", "x" * 200_001, "--wearer", "Anna"], 8, "longer than"),
        (["diary", "note", "\udce9", "--wearer", "Anna"], 8, "characters that are none"),
        (["diary", "note", "x", "--wearer", "\udce9"], 8, "no wearer named"),
        (["compare", "1", "9" * 25], 8, "too large"),
        (["diary", "delete", "--fitting", "9" * 25], 8, "too large"),
    ):
        result = run(app, [*words, *at])
        says(result, code, said)
        assert "damaged" not in result.stderr, words
        assert "rescue" not in result.stderr, words
    assert "3" in ok(folder, "diary", "list")


def test_an_archive_that_is_none_leaves_no_new_diary(tmp_path):
    (tmp_path / "a.zip").write_bytes(b"PK")
    says(run(app, ["diary", "import", str(tmp_path / "a.zip"), "--diary", str(tmp_path / "new")]), 8, "no whole archive")
    assert not (tmp_path / "new").exists()


def test_what_an_export_does_not_hold_is_said(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    sources = {view: tmp_path / f"{view}.jpg" for view in ("front", "right")}
    with Diary(tmp_path / "diary", create=True) as diary:
        for k in range(2):
            record(diary, new_fitting(fit_check(k), "Anna", sources=sources, keep="reference"))
    assert "4 photos only referenced by the diary are not in it" in ok(tmp_path / "diary", "diary", "export", "Anna")
    ok(tmp_path / "other", "diary", "import", "Anna.zip")
    assert "4 photos are missing" in ok(tmp_path / "other", "compare", "1", "2")
    assert "was not in the archive" in Path("compare.html").read_text()


def test_two_spellings_of_before_are_told_once(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = old_diary(tmp_path / "diary", ("\u00c4nne", "rock", 1), ("A\u0308nne", "rock", 2))
    told = ok(folder, "posture", "\u00e4nne")
    assert "one wearer under two spellings" in told
    assert "two spellings" not in ok(folder, "diary", "list")
    assert "Fittings recorded under" in (ok(folder, "profile", "\u00e4nne"), Path("profile.html").read_text())[1]


def test_copies_of_a_damaged_diary_are_remembered_when_she_is_deleted(folder):
    said = ok(folder, "diary", "rescue")
    assert "3 fittings rescued, 0 seen" in said
    assert "1 solved" in ok(folder, "compare")
    assert "damaged-1, may still hold hers" in ok(folder, "diary", "delete", "Anna", "--yes")


def test_a_full_disk_still_shows_and_forgets(folder, monkeypatch):
    """No file may grow: neither the log nor the index of it that programs share."""
    for part in ("-shm", "-wal"):
        (folder / f"{FILE_NAME}{part}").unlink(missing_ok=True)
    limited = f"ulimit -f 8; exec {sys.executable} -B -m fitcheck diary list --diary {folder}"
    done = subprocess.run(["bash", "-c", limited], capture_output=True, text=True, check=True)
    assert "bodice" in done.stdout
    whole, tried = forgetting._remove_rows, []

    def full_at_first(*what):
        tried.append(what[1])
        if len(tried) == 1:
            raise NoRoomError("There is no room.", "Free some space.")
        assert not (folder / "reserve").exists()
        whole(*what)

    assert (folder / "reserve").stat().st_size == 1_000_000
    monkeypatch.setattr(forgetting, "_remove_rows", full_at_first)
    assert "3 fittings" in ok(folder, "diary", "delete", "Anna", "--yes")
    assert tried == ["wearer", "fitting", "fitting", "fitting", "wearer"]
    assert (folder / "reserve").exists()
    assert not list((folder / "photos").iterdir())


def test_help_of_every_command():
    readme = (Path(__file__).parents[1] / "README.md").read_text()
    for words in (
        ["compare"],
        ["profile"],
        ["posture"],
        *(["diary", c] for c in ("list", "note", "tape", "export", "import", "delete", "rescue")),
    ):
        text = run(app, [*words, "--help"], env={"COLUMNS": "200"}).stdout
        assert "--diary" in text, words
        assert f"fitcheck {' '.join(words)}" in readme, words
    text = run(app, ["check", "--help"], env={"COLUMNS": "200"}).stdout
    assert all(option in text for option in ("--diary", "--wearer", "--garment", "--retake", "--keep-photos"))


@pytest.mark.parametrize(
    ("words", "not_needed"),
    [
        (["--help"], {"numpy", "cv2", "pydantic", "sqlite_utils", "PIL"}),
        (["diary", "list"], {"numpy", "cv2", "pydantic", "sqlite_utils", "PIL", "jinja2"}),
        (["diary", "note", "text", "--wearer", "Anna"], {"numpy", "cv2", "pydantic", "PIL", "rich"}),
        (["compare"], {"cv2", "pydantic", "sqlite_utils", "rich", "scipy", "matplotlib"}),
        (["profile", "Anna"], {"cv2", "pydantic", "sqlite_utils", "PIL", "scipy", "matplotlib"}),
        (["posture", "Anna"], {"cv2", "pydantic", "sqlite_utils", "PIL", "rich", "scipy", "matplotlib"}),
    ],
)
def test_commands_start_without_what_they_do_not_need(folder, words, not_needed):
    place = [] if words == ["--help"] else ["--diary", str(folder)]
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "fitcheck", *words, *place], capture_output=True, text=True, check=True
    )
    loaded = {line.rpartition("|")[2].strip() for line in told.stderr.splitlines() if line.startswith("import time:")}
    assert "typer" in loaded
    assert not loaded & not_needed


@pytest.mark.parametrize("words", [["diary", "list"], ["compare"], ["profile", "Anna"], ["posture", "Anna"]])
def test_data_for_scripts(folder, words):
    result = run(app, [*words, "--json", "--diary", str(folder)])
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)
