"""The diary itself: open until it is closed, one writer at a time, and looking up who and what it holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from fitcheck.core.diary import Entry
from fitcheck.core.errors import DiaryError
from fitcheck.diary.contract import UnsoundError, sound, whole_row
from fitcheck.diary.database import damaged, open_database, plainly, transaction
from fitcheck.diary.names import folded
from fitcheck.diary.photos import FOLDER, remove_photos
from fitcheck.diary.reserve import keep_reserve

OF_A_FITTING = ("result", "photo", "measurement", "posture", "advised", "expected", "placed")
_ENTRIES = """
SELECT f.id, w.name, g.name, g.maker, f.day, f.stage, f.retake, f.photos, f.summary, (SELECT count(*) FROM note n WHERE n.fitting = f.id)
FROM fitting f JOIN garment g ON g.id = f.garment JOIN wearer w ON w.id = g.wearer
"""


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

    def checked(self, table: str, columns: str, rest: str = "", values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """Columns of one table's rows, each what the contract says; a file in which they are not is damaged."""
        names = columns.split(", ")
        return [self.sound(table, names, row) for row in self.rows(f"SELECT {columns} FROM {table} {rest}", values)]

    def sound(self, table: str, names: Sequence[str], row: Sequence[Any]) -> tuple[Any, ...]:
        """The values of one row that was read, checked."""
        try:
            return tuple(sound(table, dict(zip(names, row, strict=True))).values())
        except UnsoundError as error:
            raise damaged(self.folder, error.why) from error

    @contextmanager
    def beginning(self, uids: Sequence[str]) -> Iterator[None]:
        """A write transaction for new photo folders, which are known as leftovers until it is complete."""
        marks = ",".join("?" * len(uids))
        while True:
            with self.writing():
                self.insert_all("leftover", [{"uid": uid} for uid in uids])
            with plainly(self.folder), transaction(self.connection):
                # Another program may have taken them for real leftovers in between.
                if self.rows(f"SELECT count(*) FROM leftover WHERE uid IN ({marks})", uids) == [(len(uids),)]:
                    yield
                    self.connection.execute(f"DELETE FROM leftover WHERE uid IN ({marks})", list(uids))
                    break
        keep_reserve(self.folder)

    def insert_all(self, table: str, rows: Iterable[Mapping[str, Any]]) -> None:
        """Rows into a table, within `writing` or `beginning`; each must be what the contract says.

        Raises
        ------
        UnsoundError
        """
        for row in rows:
            self.insert(table, row)

    def insert(self, table: str, row: Mapping[str, Any], instead: bool = False) -> int:
        """One row, as `insert_all`; `instead` of one that has its key. Returns its number."""
        kept = whole_row(table, row)
        if table in ("wearer", "garment"):
            kept["folded"] = folded(kept["name"])
        marks = ", ".join("?" * len(kept))
        sql = f"INSERT {'OR REPLACE ' if instead else ''}INTO {table} ({', '.join(kept)}) VALUES ({marks})"
        return int(self.connection.execute(sql, list(kept.values())).lastrowid or 0)

    def insert_beside(self, row: Mapping[str, Any]) -> int:
        """A fitting from elsewhere; it stands beside one of the same photos, which a new recording of them would replace."""
        photos, beside = str(row.get("fingerprint")).partition("+")[0], 0
        fingerprint = row.get("fingerprint")
        while self.rows("SELECT 1 FROM fitting WHERE garment = ? AND fingerprint = ?", [row.get("garment"), fingerprint]):
            beside += 1
            fingerprint = f"{photos}+{beside}"
        return self.insert("fitting", {**row, "fingerprint": fingerprint})

    def _sweep(self) -> None:
        """Remove photo folders that no fitting owns: recordings that never finished, and what was deleted."""
        for (uid,) in self.checked("leftover", "uid"):
            if not self.rows("SELECT 1 FROM fitting WHERE uid = ?", [uid]):
                remove_photos(self.folder / FOLDER / uid)
            self.connection.execute("DELETE FROM leftover WHERE uid = ?", [uid])

    def entries(self, wearer: str | None = None, garment: str | None = None) -> list[Entry]:
        """All fittings, or those of one wearer or garment, in the order of their days."""
        where = [(f"{table}.folded = ?", folded(name)) for table, name in (("w", wearer), ("g", garment)) if name is not None]
        sql = _ENTRIES + ("WHERE " + " AND ".join(term for term, _ in where) if where else "") + " ORDER BY f.day, f.id"
        return [self._entry(row) for row in self.rows(sql, [value for _, value in where])]

    def entry(self, number: int) -> Entry:
        """One fitting of the list."""
        found = self.rows(_ENTRIES + "WHERE f.id = ?", [number])
        if not found:
            raise DiaryError(f"The diary holds no fitting number {number}.", "See the numbers with 'fitcheck diary list'.")
        return self._entry(found[0])

    def _entry(self, row: Sequence[Any]) -> Entry:
        number, wearer, garment, maker, day, stage, retake, photos, summary, notes = row
        (wearer,) = self.sound("wearer", ["name"], [wearer])
        garment, maker = self.sound("garment", ["name", "maker"], [garment, maker])
        columns = ["id", "day", "stage", "retake", "photos", "summary"]
        number, day, stage, retake, photos, summary = self.sound("fitting", columns, [number, day, stage, retake, photos, summary])
        return Entry(number, wearer, garment, maker, date.fromisoformat(day), stage, bool(retake), photos, summary, int(notes))

    def wearers(self) -> list[str]:
        """Names, in the order they came."""
        return [name for (name,) in self.checked("wearer", "name", "ORDER BY id")]

    def wearer(self, name: str) -> str:
        """Her name as it was first written; neither capitals nor the composition of accents matter."""
        found = self.checked("wearer", "name", "WHERE folded = ?", [folded(name)])
        if not found:
            known = ", ".join(self.wearers()) or "nobody yet"
            raise DiaryError(f"The diary knows no wearer named {name}.", f"It knows {known}.")
        return str(found[0][0])

    def wearer_number(self, name: str) -> int:
        """The number of her row; 0 where the diary does not know her."""
        return next((number for (number,) in self.checked("wearer", "id", "WHERE folded = ?", [folded(name)])), 0)

    def garment_number(self, wearer: int, name: str) -> int:
        """The number of a garment's row; 0 where she has none of that name."""
        found = self.checked("garment", "id", "WHERE wearer = ? AND folded = ?", [wearer, folded(name)])
        return int(found[0][0]) if found else 0

    def take_news(self) -> list[str]:
        """What was done to the diary of its own accord and not said yet; it is then taken as said."""
        told = [text for (text,) in self.rows("SELECT text FROM news ORDER BY id")]
        if told:
            with self.writing():
                self.connection.execute("DELETE FROM news")
        return told
