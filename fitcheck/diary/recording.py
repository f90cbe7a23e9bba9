"""What goes into the diary: a fitting whole or not at all, notes, tape measurements."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from fitcheck.diary.contract import whole_row
from fitcheck.diary.photos import FOLDER, copy_photos
from fitcheck.diary.store import OF_A_FITTING, Diary

if TYPE_CHECKING:  # notes need neither, and their import takes longer than the whole command
    from fitcheck.core.check import FitCheck
    from fitcheck.core.records import Measurement, View

Keep = Literal["copy", "reference"]


@dataclass(frozen=True, slots=True)
class NewFitting:
    """What is recorded beside the result itdiary.

    Attributes
    ----------
    data : str
        The whole `fitcheck.json`.
    sources : dict of view to Path
        The photo files; needed where they are only referenced.
    """

    check: FitCheck
    data: str
    wearer: str
    garment: str
    sources: Mapping[View, Path]
    keep: Keep = "copy"
    retake: bool = False
    day: date | None = None


def record(diary: Diary, new: NewFitting) -> int:
    """Record one fitting whole or not at all. The same photos of the same garment replace their earlier result.

    Returns
    -------
    int
        Its number.
    """
    uid = uuid.uuid4().hex
    facts = new.check.settings
    photos = [result.photo for result in new.check.photos]
    with diary.beginning([uid]):
        garment = _garment(diary, _wearer(diary, new.wearer), new.garment, facts)
        names = (
            copy_photos(diary.folder / FOLDER / uid, photos)
            if new.keep == "copy"
            else [str(new.sources[p.view].absolute()) for p in photos]
        )
        row = {
            "uid": uid,
            "garment": garment,
            "day": (new.day or date.today()).isoformat(),
            "recorded": datetime.now(UTC).isoformat(timespec="seconds"),
            "stage": facts.get("stage", ""),
            "retake": int(new.retake),
            "fingerprint": hashlib.sha256(" ".join(sorted(p.sha256 for p in photos)).encode()).hexdigest(),
            "photos": len(photos),
            "summary": json.loads(new.data)["summary"],
            "facts": json.dumps(facts, ensure_ascii=False, default=str),
        }
        number = _fitting(diary, row)
        diary.insert_all("result", [{"fitting": number, "data": new.data}])
        diary.insert_all(
            "photo",
            [
                {"fitting": number, "view": p.view, "file": name, "kept": new.keep, "sha256": p.sha256}
                | {"width_px": p.rgb.shape[1], "height_px": p.rgb.shape[0]}
                for p, name in zip(photos, names, strict=True)
            ],
        )
        _found(diary, number, new.check)
        _tapes(diary, new.wearer, row["day"], facts)
    return number


def add_note(diary: Diary, text: str, wearer: str | None = None, fitting: int | None = None, day: date | None = None) -> None:
    """A note about a wearer or about one of her fittings."""
    name = diary.entry(fitting).wearer if fitting is not None else diary.wearer(wearer or "")
    with diary.writing():
        row = {"wearer": diary.wearer_number(name), "fitting": fitting, "day": (day or date.today()).isoformat(), "text": text}
        diary.insert("note", row)


def add_tape(diary: Diary, wearer: str, name: str, value_mm: float, day: date | None = None) -> None:
    """A tape measurement; a second one of the same day replaces the first."""
    her = diary.wearer(wearer)
    with diary.writing():
        row = {"wearer": diary.wearer_number(her), "day": (day or date.today()).isoformat(), "name": name, "value_mm": value_mm}
        diary.insert("tape", row, instead=True)


def add_pieces(
    diary: Diary, wearer: str, garment: str, pieces: Mapping[str, str], fitting: int | None = None, day: date | None = None
) -> None:
    """States of pattern pieces of one garment, all or none; what came before stays. One that is as it was last kept is not kept twice.

    Parameters
    ----------
    wearer, garment : str
        Made where the diary does not know them.
    pieces : dict of name to text of its `piece.toml`
    fitting : int, optional
        Whose round is in them.
    """
    with diary.writing():
        number = _garment(diary, _wearer(diary, wearer), garment, {})
        for name, data in pieces.items():
            row = {"garment": number, "fitting": fitting, "name": name, "day": (day or date.today()).isoformat(), "data": data}
            last = diary.rows("SELECT fitting, data FROM piece WHERE garment = ? AND name = ? ORDER BY id DESC LIMIT 1", [number, name])
            if last != [(fitting, data)]:
                diary.insert("piece", row)


def _fitting(diary: Diary, row: dict[str, Any]) -> int:
    old = diary.rows("SELECT id, uid FROM fitting WHERE garment = ? AND fingerprint = ?", [row["garment"], row["fingerprint"]])
    if not old:
        return diary.insert("fitting", row)
    number, old_uid = old[0]
    for table in OF_A_FITTING:
        diary.connection.execute(f"DELETE FROM {table} WHERE fitting = ?", [number])
    kept = whole_row("fitting", row)
    assignments = ", ".join(f"{column} = ?" for column in kept)
    diary.connection.execute(f"UPDATE fitting SET {assignments} WHERE id = ?", [*kept.values(), number])
    diary.connection.execute("INSERT INTO leftover VALUES (?)", [old_uid])
    return int(number)


def _found(diary: Diary, number: int, check: FitCheck) -> None:
    diary.insert_all("measurement", [_measured(number, item) for item in check.measurements])
    diary.insert_all(
        "posture",
        [{"fitting": number, "id": p.id, "side": p.side or "", "value": p.value, "unit": p.unit, "sd": p.sd} for p in check.posture],
    )
    # As cut: that is what the report says, and what its expectations rest on.
    amounts = [(replace(s.amount, amount_mm=s.cut_mm or s.amount.amount_mm), 1) for s in check.round.steps]
    amounts += [(amount, 0) for amount in check.round.later]
    diary.insert_all(
        "advised",
        [
            {"fitting": number, "alteration": a.id, "side": a.side, "amount_mm": a.amount_mm, "sd_mm": a.sd_mm}
            | {"probability": a.probability, "now": now}
            for a, now in amounts
        ],
    )
    diary.insert_all(
        "expected",
        [
            {"fitting": number, "alteration": step.amount.id, "side": step.amount.side, "key": one.measurement}
            | {"before": one.before, "after": one.after}
            for step in check.round.steps
            for one in step.expect
        ],
    )
    placed = {(s.view, s.name, s.side or ""): s.xy_px for p in check.photos for s in p.sightings if s.grade == "placed"}
    diary.insert_all(
        "placed",
        [
            {"fitting": number, "view": view, "name": name, "side": side, "x_px": float(xy[0]), "y_px": float(xy[1])}
            for (view, name, side), xy in placed.items()
        ],
    )


def _tapes(diary: Diary, wearer: str, day: str, facts: Mapping[str, Any]) -> None:
    for name, value in (facts.get("tape") or {}).items():
        if isinstance(value, float):
            diary.insert("tape", {"wearer": diary.wearer_number(wearer), "day": day, "name": name, "value_mm": value}, instead=True)


def _wearer(diary: Diary, name: str) -> int:
    return diary.wearer_number(name) or diary.insert("wearer", {"name": name})


def _garment(diary: Diary, wearer: int, name: str, facts: Mapping[str, Any]) -> int:
    told = {key: facts.get(key) or "" for key in ("maker", "size_bought")}
    number = diary.garment_number(wearer, name)
    if not number:
        return diary.insert("garment", {"wearer": wearer, "name": name} | told)
    for key, value in told.items():
        if value:
            diary.connection.execute(f"UPDATE garment SET {key} = ? WHERE id = ?", [value, number])
    return number


def _measured(number: int, item: Measurement) -> dict[str, Any]:
    ends = [None, None] if item.from_px is None or item.to_px is None else [item.from_px, item.to_px]
    row: dict[str, Any] = {"fitting": number, "key": item.key, "value": item.value, "sd": item.sd}
    for name, end in zip(("from", "to"), ends, strict=True):
        row |= {f"{name}_{axis}_px": None if end is None else float(end[i]) for i, axis in enumerate("xy")}
    return row
