"""A recorded fitting read back: its rows, and from the kept `fitcheck.json` what only the pages need."""

import json
from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np

from fitcheck.core.advice import Amount, Expectation, Finding
from fitcheck.core.check import PostureValue
from fitcheck.core.diary import Advised, DiaryPhoto, Entry, Fitting
from fitcheck.core.records import Measurement, SeamLine, Sighting, measurement_key
from fitcheck.diary.photos import FOLDER
from fitcheck.diary.store import Diary


def read_fitting(diary: Diary, number: int) -> Fitting:
    """Everything of one fitting.

    Raises
    ------
    DiaryError
        There is no such fitting, or the diary is damaged.
    """
    entry = diary.entry(number)
    data = json.loads(diary.rows("SELECT data FROM result WHERE fitting = ?", [number])[0][0])
    (facts,) = (json.loads(row[0]) for row in diary.rows("SELECT facts FROM fitting WHERE id = ?", [number]))
    return Fitting(
        entry,
        read_photos(diary, number),
        _measurements(diary, number, data),
        tuple(Finding(f["id"], f["side"], f["says"], f["verdict"], tuple(f["measurements"]), tuple(f["flags"])) for f in data["findings"]),
        read_round(diary, number),
        tuple(amount for amount, now in read_advised(diary, number) if not now),
        read_posture(diary, number),
        tuple(
            Sighting(p["name"], p["side"], p["view"], p["grade"], np.array(p["xy_px"], float), float(p["sd_px"]))
            for p in data["landmarks"]
            if p["view"] and p["xy_px"]
        ),
        tuple(SeamLine(s["name"], s["side"], s["view"], np.array(s["points_px"], float), float(s["sd_px"])) for s in data["seams"]),
        {(p["name"], p["side"]): np.array(p["position_mm"], float) for p in data["landmarks"] if p["position_mm"]},
        data["summary"],
        tuple(data["look_again"]),
        facts.get("sleeve") or "set_in",
    )


def read_photos(diary: Diary, number: int) -> tuple[DiaryPhoto, ...]:
    """Where the photos of one fitting lie."""
    uid = diary.rows("SELECT uid FROM fitting WHERE id = ?", [number])[0][0]
    rows = diary.rows("SELECT view, file, kept, sha256, width_px, height_px FROM photo WHERE fitting = ?", [number])
    return tuple(
        DiaryPhoto(view, str(diary.folder / FOLDER / uid / file) if kept == "copy" else file, kept, sha256, (width, height))
        for view, file, kept, sha256, width, height in rows
    )


def read_advised(diary: Diary, number: int) -> list[tuple[Amount, bool]]:
    """Alterations of one fitting; True: to be made then, False: left for later."""
    rows = diary.rows("SELECT alteration, side, amount_mm, sd_mm, probability, now FROM advised WHERE fitting = ?", [number])
    return [(Amount(*row[:5]), bool(row[5])) for row in rows]


def read_round(diary: Diary, number: int) -> tuple[Advised, ...]:
    """What was to be altered then, with what it should change."""
    expected: dict[tuple[str, str], list[Expectation]] = {}
    for alteration, side, *one in diary.rows("SELECT alteration, side, key, before, after FROM expected WHERE fitting = ?", [number]):
        expected.setdefault((alteration, side), []).append(Expectation(*one))
    return tuple(Advised(a, tuple(expected.get((a.id, a.side), ()))) for a, now in read_advised(diary, number) if now)


def read_posture(diary: Diary, number: int) -> tuple[PostureValue, ...]:
    """Posture numbers of one fitting."""
    rows = diary.rows("SELECT id, side, value, unit, sd FROM posture WHERE fitting = ?", [number])
    return tuple(PostureValue(id, side or None, value, unit, sd) for id, side, value, unit, sd in rows)


def posture_rows(diary: Diary, wearer: str) -> list[tuple[Entry, PostureValue]]:
    """Every posture number of one wearer with its fitting, in the order of days; one query, whatever the diary's size."""
    entries = {entry.number: entry for entry in diary.entries(wearer)}
    sql = """
    SELECT p.fitting, p.id, p.side, p.value, p.unit, p.sd FROM posture p JOIN fitting f ON f.id = p.fitting
    JOIN garment g ON g.id = f.garment JOIN wearer w ON w.id = g.wearer WHERE w.name = ? ORDER BY f.day, f.id
    """
    return [(entries[number], PostureValue(id, side or None, *rest)) for number, id, side, *rest in diary.rows(sql, [wearer])]


def tapes(diary: Diary, wearer: str) -> list[tuple[str, float, date]]:
    """The latest tape measurement of each kind."""
    sql = """
    SELECT t.name, t.value_mm, max(t.day) FROM tape t JOIN wearer w ON w.id = t.wearer WHERE w.name = ? GROUP BY t.name ORDER BY t.name
    """
    return [(name, value, date.fromisoformat(day)) for name, value, day in diary.rows(sql, [wearer])]


def notes(diary: Diary, wearer: str) -> list[tuple[date, str]]:
    """Notes about her and her fittings, oldest first."""
    sql = "SELECT n.day, n.text FROM note n JOIN wearer w ON w.id = n.wearer WHERE w.name = ? ORDER BY n.day, n.id"
    return [(date.fromisoformat(day), text) for day, text in diary.rows(sql, [wearer])]


def _measurements(diary: Diary, number: int, data: dict[str, Any]) -> tuple[Measurement, ...]:
    ends: dict[str, Sequence[float | None]] = {
        key: xy
        for key, *xy in diary.rows("SELECT key, from_x_px, from_y_px, to_x_px, to_y_px FROM measurement WHERE fitting = ?", [number])
    }
    found = []
    for m in data["measurements"]:
        xy = ends[measurement_key(m["id"], m["at"], m["side"])]
        drawn = [None, None] if xy[0] is None else [np.array(xy[:2], float), np.array(xy[2:], float)]
        found.append(
            Measurement(m["id"], m["at"], m["side"], m["view"], m["value"], m["unit"], m["sd"], m["sources"], tuple(m["flags"]), *drawn)
        )
    return tuple(found)
