"""A sound diary and values that nobody should find in one, for the families of hostile.py about the diary."""

from datetime import date
from pathlib import Path
from typing import Any

from diary.conftest import fit_check, measurement, new_fitting

from fitcheck.diary.recording import add_note, add_tape, record
from fitcheck.diary.store import Diary

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
