"""A sound diary and values that nobody should find in one, for the families of hostile.py about the diary."""

import shutil
from datetime import date
from pathlib import Path
from typing import Any

from diary.conftest import fit_check, measurement, new_fitting

from fitcheck.diary.archive import export_wearer
from fitcheck.diary.recording import add_note, add_tape, record
from fitcheck.diary.store import Diary

SAMPLES = Path(__file__).parents[2] / "sample_images"
HERS = "Anna"
NASTY: tuple[Any, ...] = (
    *(None, True, -1, 0, 7, 2**31, 2**63, -(2**63), 2**70, 1e308, -1e-308, float("nan"), float("inf")),
    *("", " ", "\n", "\x00", "x" * 100_000, "../../x", "/dev/zero", "/etc/passwd", "{mm:x}", "{oops}", "<script>", "\ud800", "Zoe\u0308"),
    *("2026-13-01", "0001-01-01", "9999-12-31", "nan", "front", "wearer_left", [], {}, [[]], [1, "a"], {"a": 1}, [0] * 1000),
)


def made(folder: Path, fittings: int) -> Path:
    """A sound diary."""
    with Diary(folder, create=True) as diary:
        for k in range(fittings):
            check = fit_check(k, (measurement(10.0 - k),), placed=k == 1, tape={"bust": 920})
            wearer, garment = (HERS, "bodice") if k % 4 < 3 else ("Berta", "coat")
            record(diary, new_fitting(check, wearer, garment, date(2026, 3, 1 + k)))
        add_note(diary, "hem crooked", fitting=1)
        add_tape(diary, HERS, "waist", 700, date(2026, 3, 2))
    return folder


def furnish(place: Path, *folders: str) -> None:
    """A folder with all that the commands are given: a diary, an archive of hers, a fitting, a table of sizes, empty folders; made once."""
    furnished = place.parent / "furnished"
    if not furnished.exists():
        made(furnished / "diary", 4)
        with Diary(furnished / "diary") as diary:
            export_wearer(diary, HERS, furnished / "good.zip")
        for name in ("fitting", *folders):
            (furnished / name).mkdir()
        shutil.copy(SAMPLES / "control" / "right.jpg", furnished / "fitting")
        shutil.copy(SAMPLES / "sizes.toml", furnished)
    shutil.copytree(furnished, place)
