"""A recorded fitting read back: its rows, and from the kept `fitcheck.json` what only the pages need."""

import json
from datetime import date

from fitcheck.core.advice import Amount, Expectation
from fitcheck.core.check import PostureValue
from fitcheck.core.diary import Advised, DiaryPhoto, Entry, Fitting
from fitcheck.diary.contract import UnsoundError
from fitcheck.diary.database import damaged
from fitcheck.diary.kept_result import read_result
from fitcheck.diary.photos import FOLDER
from fitcheck.diary.store import Diary

_OF_FITTING = "WHERE fitting = ?"


def read_fitting(diary: Diary, number: int) -> Fitting:
    """Everything of one fitting.

    Raises
    ------
    DiaryError
        There is no such fitting, or the diary is damaged.
    """
    entry = diary.entry(number)
    found = diary.checked("result", "data", _OF_FITTING, [number])
    if not found:
        raise damaged(diary.folder, f"the result of fitting {number} is missing")
    ends = "key, from_x_px, from_y_px, to_x_px, to_y_px"
    try:
        kept = read_result(found[0][0], {key: xy for key, *xy in diary.checked("measurement", ends, _OF_FITTING, [number])})
    except UnsoundError as error:
        raise damaged(diary.folder, error.why) from error
    ((facts,),) = diary.checked("fitting", "facts", "WHERE id = ?", [number])
    return Fitting(
        entry,
        read_photos(diary, number),
        kept.measurements,
        kept.findings,
        read_round(diary, number),
        tuple(amount for amount, now in read_advised(diary, number) if not now),
        read_posture(diary, number),
        kept.sightings,
        kept.seams,
        kept.positions_mm,
        kept.summary,
        kept.look_again,
        json.loads(facts).get("sleeve") or "set_in",
    )


def read_photos(diary: Diary, number: int) -> tuple[DiaryPhoto, ...]:
    """Where the photos of one fitting lie."""
    ((uid,),) = diary.checked("fitting", "uid", "WHERE id = ?", [number])
    rows = diary.checked("photo", "view, file, kept, sha256, width_px, height_px", _OF_FITTING, [number])
    return tuple(
        DiaryPhoto(view, str(diary.folder / FOLDER / uid / file) if kept == "copy" else file, kept, sha256, (width, height))
        for view, file, kept, sha256, width, height in rows
    )


def read_advised(diary: Diary, number: int) -> list[tuple[Amount, bool]]:
    """Alterations of one fitting; True: to be made then, False: left for later."""
    rows = diary.checked("advised", "alteration, side, amount_mm, sd_mm, probability, now", _OF_FITTING, [number])
    return [(Amount(*row[:5]), bool(row[5])) for row in rows]


def read_round(diary: Diary, number: int) -> tuple[Advised, ...]:
    """What was to be altered then, with what it should change."""
    expected: dict[tuple[str, str], list[Expectation]] = {}
    for alteration, side, *one in diary.checked("expected", "alteration, side, key, before, after", _OF_FITTING, [number]):
        expected.setdefault((alteration, side), []).append(Expectation(*one))
    return tuple(Advised(a, tuple(expected.get((a.id, a.side), ()))) for a, now in read_advised(diary, number) if now)


def read_posture(diary: Diary, number: int) -> tuple[PostureValue, ...]:
    """Posture numbers of one fitting."""
    rows = diary.checked("posture", "id, side, value, unit, sd", _OF_FITTING, [number])
    return tuple(PostureValue(id, side or None, value, unit, sd) for id, side, value, unit, sd in rows)


def posture_rows(diary: Diary, wearer: str) -> list[tuple[Entry, PostureValue]]:
    """Every posture number of one wearer with its fitting, in the order of days; one query, whatever the diary's size."""
    values: dict[int, list[PostureValue]] = {}
    for number, id, side, *rest in diary.checked("posture", "fitting, id, side, value, unit, sd", *hers(diary, wearer)):
        values.setdefault(number, []).append(PostureValue(id, side or None, *rest))
    return [(entry, value) for entry in diary.entries(wearer) for value in values.get(entry.number, ())]


def hers(diary: Diary, wearer: str) -> tuple[str, list[int]]:
    """The end of a query, and its value, for rows of all fittings of one wearer."""
    term = "WHERE fitting IN (SELECT f.id FROM fitting f JOIN garment g ON g.id = f.garment WHERE g.wearer = ?)"
    return term, [diary.wearer_number(wearer)]


def tapes(diary: Diary, wearer: str) -> list[tuple[str, float, date]]:
    """The latest tape measurement of each kind."""
    rows = diary.checked("tape", "name, value_mm, day", "WHERE wearer = ? ORDER BY day", [diary.wearer_number(wearer)])
    latest = {name: (name, value, date.fromisoformat(day)) for name, value, day in rows}
    return [latest[name] for name in sorted(latest)]


def pieces(diary: Diary, wearer: str, garment: str) -> list[tuple[str, int | None, str]]:
    """Every state of the pattern pieces of one garment, oldest first: name, the fitting whose round is in it, text."""
    number = diary.garment_number(diary.wearer_number(wearer), garment)
    return [
        (name, fitting, data)
        for name, fitting, data in diary.checked("piece", "name, fitting, data", "WHERE garment = ? ORDER BY id", [number])
    ]


def notes(diary: Diary, wearer: str) -> list[tuple[date, str]]:
    """Notes about her and her fittings, oldest first."""
    rows = diary.checked("note", "day, text", "WHERE wearer = ? ORDER BY day, id", [diary.wearer_number(wearer)])
    return [(date.fromisoformat(day), text) for day, text in rows]
