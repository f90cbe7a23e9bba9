"""The diary itself: open until it is closed, one writer at a time, and looking up who and what it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.core.diary import Entry
from fitcheck.core.errors import DiaryError
from fitcheck.diary.database import open_database, plainly, transaction
from fitcheck.diary.photos import FOLDER, remove_photos

if TYPE_CHECKING:  # reading does not need it, and its import takes longer than a whole command may otherwise
    from sqlite_utils import Database

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
                    return

    def insert_all(self, table: str, rows: Sequence[dict[str, Any]]) -> None:
        """Rows into a table, within `writing` or `beginning`."""
        if rows:
            self.db.table(table).insert_all(rows)

    def insert(self, table: str, row: dict[str, Any]) -> int:
        """One row into a table, within `writing` or `beginning`; returns its number."""
        return int(str(self.db.table(table).insert(row).last_pk))

    def _sweep(self) -> None:
        """Remove photo folders that no fitting owns: recordings that never finished, and what was deleted."""
        for (uid,) in self.rows("SELECT uid FROM leftover"):
            remove_photos(self.folder / FOLDER / uid)
            self.connection.execute("DELETE FROM leftover WHERE uid = ?", [uid])

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


def as_entry(row: Sequence[Any]) -> Entry:
    """One row of the list."""
    number, wearer, garment, maker, day, stage, retake, photos, summary, notes = row
    return Entry(int(number), wearer, garment, maker, date.fromisoformat(day), stage, bool(retake), int(photos), summary, int(notes))
