"""What can still be read of a damaged diary, into a new one."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from fitcheck.core.errors import DiaryError
from fitcheck.diary.store import OF_A_FITTING, Diary

_BEYOND = 2000  # so many numbers after the last readable fitting are tried too


def rescue(damaged: Path, diary: Diary) -> tuple[int, int]:
    """Copy every fitting that can be read whole, under its old number, so that its photos in the same folder are found again.

    Parameters
    ----------
    damaged : Path
        The damaged database file; it is only read.
    diary : Diary
        A new, empty one.

    Returns
    -------
    rescued, lost : int
        Fittings; `lost` counts those of which something could be seen.

    Raises
    ------
    DiaryError
        Nothing at all can be read, or the new diary is not empty.
    """
    if diary.wearers():
        raise DiaryError("The diary to rescue into is not empty.", "Name an empty folder with --diary.")
    if not damaged.is_file():
        raise DiaryError(f"There is no file {damaged}.", "Give the damaged diary.sqlite that you moved away.")
    with closing(sqlite3.connect(f"{damaged.absolute().as_uri()}?mode=ro", uri=True)) as old, diary.writing():
        old.row_factory = sqlite3.Row
        for row in _readable(old, "wearer"):
            diary.insert("wearer", row)
        wearers = {number for (number,) in diary.rows("SELECT id FROM wearer")}
        for row in _readable(old, "garment"):
            if row["wearer"] in wearers:
                diary.insert("garment", row)
        rescued = lost = 0
        known = {garment for (garment,) in diary.rows("SELECT id FROM garment")}
        for row in _readable(old, "fitting"):
            parts = _parts(old, row["id"])
            if parts is None or row["garment"] not in known:
                lost += 1
                continue
            diary.insert("fitting", row)
            for table, rows in parts.items():
                for part in rows:
                    diary.insert(table, part)
            rescued += 1
        kept = {number for (number,) in diary.rows("SELECT id FROM fitting")} | {None}
        for row in (*_readable(old, "tape"), *_readable(old, "note")):
            if row["wearer"] in wearers and row.get("fitting") in kept:
                diary.insert("note" if "text" in row else "tape", row)
        if not rescued and not known:
            raise DiaryError(
                f"Nothing can be read of {damaged}.", "Import a backup with 'fitcheck diary import', or check the photos again."
            )
    return rescued, lost


def _readable(old: sqlite3.Connection, table: str) -> Iterator[dict[str, Any]]:
    """All rows of a table that can be read; one by one where reading them together fails."""
    try:
        yield from [dict(row) for row in old.execute(f"SELECT * FROM {table}")]
        return
    except sqlite3.DatabaseError:
        if table == "tape":
            return
    last, number = 0, 0
    while number < last + _BEYOND:
        number += 1
        try:
            found = old.execute(f"SELECT * FROM {table} WHERE id = ?", [number]).fetchone()
        except sqlite3.DatabaseError:
            continue
        if found is not None:
            last = number
            yield dict(found)


def _parts(old: sqlite3.Connection, number: int) -> dict[str, list[dict[str, Any]]] | None:
    try:
        return {table: [dict(row) for row in old.execute(f"SELECT * FROM {table} WHERE fitting = ?", [number])] for table in OF_A_FITTING}
    except sqlite3.DatabaseError:
        return None
