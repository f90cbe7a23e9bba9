"""The diary itself: recording a fitting whole or not at all, listing, notes, tape measurements, and really forgetting."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from fitcheck.core.diary import Entry
from fitcheck.core.errors import DiaryError
from fitcheck.diary.database import open_database, plainly, transaction
from fitcheck.diary.photos import FOLDER, copy_photos, remove_photos

if TYPE_CHECKING:  # reading needs neither, and either import takes longer than a whole command may otherwise
    from sqlite_utils import Database

    from fitcheck.core.check import FitCheck
    from fitcheck.core.records import Measurement, View

Keep = Literal["copy", "reference"]
OF_A_FITTING = ("result", "photo", "measurement", "posture", "advised", "expected", "placed")
_ENTRIES = """
SELECT f.id, w.name, g.name, g.maker, f.day, f.stage, f.retake, f.photos, f.summary, (SELECT count(*) FROM note n WHERE n.fitting = f.id)
FROM fitting f JOIN garment g ON g.id = f.garment JOIN wearer w ON w.id = g.wearer
"""


@dataclass(frozen=True, slots=True)
class NewFitting:
    """What is recorded beside the result itself.

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


class Diary:
    """One diary, open until `close`.

    Parameters
    ----------
    folder : Path
    create : bool
        Make it where there is none.

    Raises
    ------
    DiaryError
        By every method too: it cannot be read or written, or does not hold what was asked for.
    """

    def __init__(self, folder: Path, create: bool = False) -> None:
        self.folder = folder.absolute()
        self.connection = open_database(self.folder, create)

    @cached_property
    def db(self) -> Database:
        """The database as sqlite-utils sees it."""
        from sqlite_utils import Database

        return Database(self.connection, execute_plugins=False)

    def __enter__(self) -> Diary:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the database; no use after that."""
        self.connection.close()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction, alone; what an interrupted program left lying is removed first."""
        with plainly(self.folder), transaction(self.connection):
            self._sweep()
            yield

    def rows(self, sql: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """Rows of one query."""
        with plainly(self.folder):
            return self.connection.execute(sql, values).fetchall()

    # ------------------------------------------------------------------ recording

    def record(self, new: NewFitting) -> int:
        """Record one fitting whole or not at all. The same photos of the same garment replace their earlier result.

        Returns
        -------
        int
            Its number.
        """
        uid = uuid.uuid4().hex
        facts = new.check.settings
        photos = [result.photo for result in new.check.photos]
        with self.beginning([uid]):
            garment = self._garment(self._wearer(new.wearer), new.garment, facts)
            names = (
                copy_photos(self.folder / FOLDER / uid, photos)
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
            number = self._fitting(row)
            self._insert("result", [{"fitting": number, "data": new.data}])
            self._insert(
                "photo",
                [
                    {"fitting": number, "view": p.view, "file": name, "kept": new.keep, "sha256": p.sha256}
                    | {"width_px": p.rgb.shape[1], "height_px": p.rgb.shape[0]}
                    for p, name in zip(photos, names, strict=True)
                ],
            )
            self._found(number, new.check)
            self._tapes(new.wearer, row["day"], facts)
        return number

    @contextmanager
    def beginning(self, uids: Sequence[str]) -> Iterator[None]:
        """A write transaction for new photo folders, which are known as leftovers until it is complete."""
        marks = ",".join("?" * len(uids))
        while True:
            with self.writing():
                self._insert("leftover", [{"uid": uid} for uid in uids])
            with plainly(self.folder), transaction(self.connection):
                # Another program may have taken them for real leftovers in between.
                if self.rows(f"SELECT count(*) FROM leftover WHERE uid IN ({marks})", uids) == [(len(uids),)]:
                    yield
                    self.connection.execute(f"DELETE FROM leftover WHERE uid IN ({marks})", list(uids))
                    return

    def _fitting(self, row: dict[str, Any]) -> int:
        old = self.rows("SELECT id, uid FROM fitting WHERE garment = ? AND fingerprint = ?", [row["garment"], row["fingerprint"]])
        if not old:
            return self.insert("fitting", row)
        number, old_uid = old[0]
        for table in OF_A_FITTING:
            self.connection.execute(f"DELETE FROM {table} WHERE fitting = ?", [number])
        self.db.table("fitting").update(number, row)
        self.connection.execute("INSERT INTO leftover VALUES (?)", [old_uid])
        return int(number)

    def _found(self, number: int, check: FitCheck) -> None:
        self._insert("measurement", [_measured(number, item) for item in check.measurements])
        self._insert(
            "posture",
            [{"fitting": number, "id": p.id, "side": p.side or "", "value": p.value, "unit": p.unit, "sd": p.sd} for p in check.posture],
        )
        # As cut: that is what the report says, and what its expectations rest on.
        amounts = [(replace(s.amount, amount_mm=s.cut_mm or s.amount.amount_mm), 1) for s in check.round.steps]
        amounts += [(amount, 0) for amount in check.round.later]
        self._insert(
            "advised",
            [
                {"fitting": number, "alteration": a.id, "side": a.side, "amount_mm": a.amount_mm, "sd_mm": a.sd_mm}
                | {"probability": a.probability, "now": now}
                for a, now in amounts
            ],
        )
        self._insert(
            "expected",
            [
                {"fitting": number, "alteration": step.amount.id, "side": step.amount.side, "key": one.measurement}
                | {"before": one.before, "after": one.after}
                for step in check.round.steps
                for one in step.expect
            ],
        )
        placed = {(s.view, s.name, s.side or ""): s.xy_px for p in check.photos for s in p.sightings if s.grade == "placed"}
        self._insert(
            "placed",
            [
                {"fitting": number, "view": view, "name": name, "side": side, "x_px": float(xy[0]), "y_px": float(xy[1])}
                for (view, name, side), xy in placed.items()
            ],
        )

    def _tapes(self, wearer: str, day: str, facts: Mapping[str, Any]) -> None:
        for name, value in (facts.get("tape") or {}).items():
            if isinstance(value, float):
                self.connection.execute("INSERT OR REPLACE INTO tape VALUES (?, ?, ?, ?)", [self._wearer(wearer), day, name, value])

    def _insert(self, table: str, rows: Sequence[dict[str, Any]]) -> None:
        if rows:
            self.db.table(table).insert_all(rows)

    def insert(self, table: str, row: dict[str, Any]) -> int:
        """One row into a table, within `writing` or `beginning`; returns its number."""
        return int(str(self.db.table(table).insert(row).last_pk))

    def _wearer(self, name: str) -> int:
        found = self.rows("SELECT id FROM wearer WHERE name = ?", [name])
        return int(found[0][0]) if found else self.insert("wearer", {"name": name})

    def _garment(self, wearer: int, name: str, facts: Mapping[str, Any]) -> int:
        told = {key: facts.get(key) or "" for key in ("maker", "size_bought")}
        found = self.rows("SELECT id FROM garment WHERE wearer = ? AND name = ?", [wearer, name])
        if not found:
            return self.insert("garment", {"wearer": wearer, "name": name} | told)
        for key, value in told.items():
            if value:
                self.connection.execute(f"UPDATE garment SET {key} = ? WHERE id = ?", [value, found[0][0]])
        return int(found[0][0])

    # ------------------------------------------------------------------ reading

    def entries(self, wearer: str | None = None, garment: str | None = None) -> list[Entry]:
        """All fittings, or those of one wearer or garment, in the order of their days."""
        where = [(f"{column} = ?", value) for column, value in (("w.name", wearer), ("g.name", garment)) if value is not None]
        sql = _ENTRIES + ("WHERE " + " AND ".join(term for term, _ in where) if where else "") + " ORDER BY f.day, f.id"
        return [as_entry(row) for row in self.rows(sql, [value for _, value in where])]

    def entry(self, number: int) -> Entry:
        """One fitting of the list."""
        found = self.rows(_ENTRIES + "WHERE f.id = ?", [number])
        if not found:
            raise DiaryError(f"The diary holds no fitting number {number}.", "See the numbers with 'fitcheck diary list'.")
        return as_entry(found[0])

    def wearers(self) -> list[str]:
        """Names, in the order they came."""
        return [name for (name,) in self.rows("SELECT name FROM wearer ORDER BY id")]

    def wearer(self, name: str) -> str:
        """Her name as it was first written; capitals do not matter."""
        found = self.rows("SELECT name FROM wearer WHERE name = ?", [name])
        if not found:
            known = ", ".join(self.wearers()) or "nobody yet"
            raise DiaryError(f"The diary knows no wearer named {name}.", f"It knows {known}.")
        return str(found[0][0])

    # ------------------------------------------------------------------ notes, tape

    def add_note(self, text: str, wearer: str | None = None, fitting: int | None = None, day: date | None = None) -> None:
        """A note about a wearer or about one of her fittings."""
        name = self.entry(fitting).wearer if fitting is not None else self.wearer(wearer or "")
        with self.writing():
            self._insert(
                "note", [{"wearer": self._wearer(name), "fitting": fitting, "day": (day or date.today()).isoformat(), "text": text}]
            )

    def add_tape(self, wearer: str, name: str, value_mm: float, day: date | None = None) -> None:
        """A tape measurement; a second one of the same day replaces the first."""
        her = self.wearer(wearer)
        with self.writing():
            self.connection.execute(
                "INSERT OR REPLACE INTO tape VALUES (?, ?, ?, ?)", [self._wearer(her), (day or date.today()).isoformat(), name, value_mm]
            )

    # ------------------------------------------------------------------ forgetting

    def delete_wearer(self, name: str) -> dict[str, int]:
        """Remove a wearer and all of hers from rows, files and the database's empty pages.

        Returns
        -------
        dict
            What was removed: garments, fittings, photos copied, photos referenced (the files stay), measurements, placed points, posture
            numbers, tape measurements, notes.
        """
        her = self.wearer(name)
        mine = "(SELECT f.id FROM fitting f JOIN garment g ON g.id = f.garment JOIN wearer w ON w.id = g.wearer WHERE w.name = ?)"
        counts = {
            "garments": "garment WHERE wearer = (SELECT id FROM wearer WHERE name = ?)",
            "fittings": f"fitting WHERE id IN {mine}",
            "photos copied": f"photo WHERE kept = 'copy' AND fitting IN {mine}",
            "photos referenced": f"photo WHERE kept = 'reference' AND fitting IN {mine}",
            "measurements": f"measurement WHERE fitting IN {mine}",
            "placed points": f"placed WHERE fitting IN {mine}",
            "posture numbers": f"posture WHERE fitting IN {mine}",
            "tape measurements": "tape WHERE wearer = (SELECT id FROM wearer WHERE name = ?)",
            "notes": "note WHERE wearer = (SELECT id FROM wearer WHERE name = ?)",
        }
        with self.writing():
            removed = {what: int(self.rows(f"SELECT count(*) FROM {source}", [her])[0][0]) for what, source in counts.items()}
            self.connection.execute(f"INSERT INTO leftover SELECT uid FROM fitting WHERE id IN {mine}", [her])
            self.connection.execute("DELETE FROM wearer WHERE name = ?", [her])
        self._forget()
        return removed

    def delete_fitting(self, number: int) -> Entry:
        """Remove one fitting; its garment and wearer stay."""
        entry = self.entry(number)
        with self.writing():
            self.connection.execute("INSERT INTO leftover SELECT uid FROM fitting WHERE id = ?", [number])
            self.connection.execute("DELETE FROM fitting WHERE id = ?", [number])
        self._forget()
        return entry

    def _forget(self) -> None:
        with self.writing():
            pass
        with plainly(self.folder):
            self.connection.executescript("PRAGMA incremental_vacuum")  # `execute` would free a single page
            self.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    def _sweep(self) -> None:
        """Remove photo folders that no fitting owns: recordings that never finished, and what was deleted."""
        for (uid,) in self.rows("SELECT uid FROM leftover"):
            remove_photos(self.folder / FOLDER / uid)
            self.connection.execute("DELETE FROM leftover WHERE uid = ?", [uid])


def as_entry(row: Sequence[Any]) -> Entry:
    """One row of the list."""
    number, wearer, garment, maker, day, stage, retake, photos, summary, notes = row
    return Entry(int(number), wearer, garment, maker, date.fromisoformat(day), stage, bool(retake), int(photos), summary, int(notes))


def _measured(number: int, item: Measurement) -> dict[str, Any]:
    ends = [None, None] if item.from_px is None or item.to_px is None else [item.from_px, item.to_px]
    row: dict[str, Any] = {"fitting": number, "key": item.key, "value": item.value, "sd": item.sd}
    for name, end in zip(("from", "to"), ends, strict=True):
        row |= {f"{name}_{axis}_px": None if end is None else float(end[i]) for i, axis in enumerate("xy")}
    return row
