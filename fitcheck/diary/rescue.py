"""What can still be read of a damaged diary, into a new one in its place; first of all a copy of every part of it is kept."""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitcheck.core.errors import DiaryError
from fitcheck.diary.contract import TABLES, UnsoundError
from fitcheck.diary.database import FILE_NAME, plainly
from fitcheck.diary.names import tidy
from fitcheck.diary.reading import read_fitting
from fitcheck.diary.store import OF_A_FITTING, Diary

COPIES = "damaged-*"
_WORKSHOP = "rescuing"
_PARTS = ("", "-wal", "-journal")  # what SQLite may have left: the last recordings can lie in the log alone
_BEYOND = 2000  # so many numbers after the last readable row are tried too
_UNKNOWN = "unknown"
_UNREADABLE = (sqlite3.Error, UnicodeDecodeError)  # the second from within the words of SQLite's own message


@dataclass(frozen=True, slots=True)
class Rescued:
    """What came of it: fittings in the new diary, fittings that were seen but could not be read whole, and where the copy is."""

    fittings: int
    lost: int
    copy: Path


def rescue(folder: Path, moved: Path | None = None) -> Rescued:
    """Make a new diary of every fitting that can be read whole, under its old number, so that its photos are found again.

    A sudden stop at any moment loses nothing: the copy is on disk before anything is changed.

    Parameters
    ----------
    folder : Path
        The diary's.
    moved : Path, optional
        The damaged database, if it was moved out of the folder.

    Raises
    ------
    DiaryError
        Nothing at all can be read, or there is a diary in use in the folder beside the moved one.
    """
    folder = folder.absolute()
    damaged = moved or folder / FILE_NAME
    if not damaged.is_file():
        raise DiaryError(f"There is no file {damaged}.", "Name the diary's folder with --diary, or the file if you moved it.")
    if moved and (folder / FILE_NAME).is_file() and not (folder / FILE_NAME).samefile(moved):
        with Diary(folder) as diary:
            if diary.wearers():
                raise DiaryError("The diary to rescue into is not empty.", "Name an empty folder with --diary.")
    with plainly(folder):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        copy = _keep(damaged, folder)
        workshop = folder / _WORKSHOP
        shutil.rmtree(workshop, ignore_errors=True)
        try:
            rescued, lost = _rebuild(copy / FILE_NAME, workshop)
            # first the old log: SQLite would take it for the new file's own
            for part in (*_PARTS[1:], "-shm"):
                (folder / f"{FILE_NAME}{part}").unlink(missing_ok=True)
            os.replace(workshop / FILE_NAME, folder / FILE_NAME)
            _sync(folder)
        finally:
            shutil.rmtree(workshop, ignore_errors=True)
    return Rescued(rescued, lost, copy)


def _keep(damaged: Path, folder: Path) -> Path:
    """Copy every part; a log that stayed behind in the diary's folder belongs to a file that was moved away from there."""
    number = 1
    while (copy := folder / COPIES.replace("*", str(number))).exists():
        number += 1
    copy.mkdir(mode=0o700)
    for part in _PARTS:
        places = [damaged.with_name(damaged.name + part), *([] if (folder / FILE_NAME).exists() else [folder / f"{FILE_NAME}{part}"])]
        found = next((place for place in places if place.is_file()), None)
        if found is None:
            continue
        with open(found, "rb") as old, open(os.open(copy / f"{FILE_NAME}{part}", os.O_WRONLY | os.O_CREAT, 0o600), "wb") as new:
            shutil.copyfileobj(old, new)
            new.flush()
            os.fsync(new.fileno())
    _sync(copy)
    _sync(folder)
    return copy


def _sync(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)


def _rebuild(database: Path, workshop: Path) -> tuple[int, int]:
    """With the log if that can be read, else the file alone."""
    for how in ("mode=ro", "mode=ro&immutable=1"):
        shutil.rmtree(workshop, ignore_errors=True)
        with Diary(workshop, create=True) as diary, closing(sqlite3.connect(f"{database.as_uri()}?{how}", uri=True)) as old:
            with diary.writing():
                rescued, lost = _copy_rows(old, diary)
            something = rescued or diary.wearers()
            diary.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        database.with_name(f"{FILE_NAME}-shm").unlink(missing_ok=True)
        if something:
            return rescued, lost
    raise DiaryError(
        f"Nothing can be read of the diary; a copy of it is in {database.parent}.",
        "Import a backup with 'fitcheck diary import', or check the photos again.",
    )


def _copy_rows(old: sqlite3.Connection, diary: Diary) -> tuple[int, int]:
    wearers = {row["id"]: _wearer(diary, row) for row in _readable(old, "wearer")}
    garments: dict[Any, int] = {}
    for row in _readable(old, "garment"):
        garments[row["id"]] = _garment(diary, row, wearers.get(row["wearer"]) or _wearer(diary, {"name": _UNKNOWN}))
    rescued = lost = 0
    for row in _readable(old, "fitting"):
        garment = garments.get(row["garment"]) or _garment(diary, {"name": _UNKNOWN}, _wearer(diary, {"name": _UNKNOWN}))
        if _fitting(old, diary, row, garment):
            rescued += 1
        else:
            lost += 1
    kept = {number for (number,) in diary.rows("SELECT id FROM fitting")} | {None}
    for table in ("tape", "note"):
        for row in _readable(old, table):
            her = wearers.get(row["wearer"])
            if her and row.get("fitting") in kept:
                _insert(diary, table, row | {"wearer": her})
    for row in _readable(old, "piece"):
        if row["garment"] in garments:
            _insert(
                diary, "piece", row | {"garment": garments[row["garment"]], "fitting": row["fitting"] if row["fitting"] in kept else None}
            )
    owned = {uid for (uid,) in diary.rows("SELECT uid FROM fitting")}
    for row in _readable(old, "leftover"):
        if row["uid"] not in owned:
            _insert(diary, "leftover", row)
    return rescued, lost


def _wearer(diary: Diary, row: dict[str, Any]) -> int:
    name = tidy(str(row["name"]))[:200] or _UNKNOWN
    return diary.wearer_number(name) or _insert(diary, "wearer", row | {"name": name}) or diary.insert("wearer", {"name": name})


def _garment(diary: Diary, row: dict[str, Any], wearer: int) -> int:
    name = tidy(str(row["name"]))[:200] or _UNKNOWN
    bare = {"maker": "", "size_bought": "", "name": name, "wearer": wearer}
    return diary.garment_number(wearer, name) or _insert(diary, "garment", row | bare | _told(row)) or diary.insert("garment", bare)


def _told(row: dict[str, Any]) -> dict[str, Any]:
    return {key: row[key] for key in ("maker", "size_bought") if key in row}


def _fitting(old: sqlite3.Connection, diary: Diary, row: dict[str, Any], garment: int) -> bool:
    """Whether it could be read whole; nothing of it stays otherwise."""
    parts = _parts(old, row["id"])
    if parts is None:
        return False
    diary.connection.execute("SAVEPOINT fitting")
    try:
        with plainly(diary.folder):
            diary.insert_beside(row | {"garment": garment})
            for table, rows in parts.items():
                diary.insert_all(table, rows)
            read_fitting(diary, row["id"])
    except DiaryError:
        diary.connection.execute("ROLLBACK TO fitting")
        return False
    finally:
        diary.connection.execute("RELEASE fitting")
    return True


def _insert(diary: Diary, table: str, row: dict[str, Any]) -> int:
    """The row's number, 0 where it is not sound or already there."""
    try:
        with plainly(diary.folder):
            return diary.insert(table, row)
    except UnsoundError:
        return 0


def _readable(old: sqlite3.Connection, table: str) -> Iterator[dict[str, Any]]:
    """All rows of a table that can be read; one by one where reading them together fails."""
    columns = ", ".join(TABLES[table])
    try:
        yield from [dict(zip(TABLES[table], row, strict=True)) for row in old.execute(f"SELECT {columns} FROM {table}")]
        return
    except _UNREADABLE:
        if "id" not in TABLES[table] or not _is_known(old, table):
            return
    last, number = 0, 0
    while number < last + _BEYOND:
        number += 1
        try:
            found = old.execute(f"SELECT {columns} FROM {table} WHERE id = ?", [number]).fetchone()
        except _UNREADABLE:
            continue
        if found is not None:
            last = number
            yield dict(zip(TABLES[table], found, strict=True))


def _is_known(old: sqlite3.Connection, table: str) -> bool:
    """Whether the list of tables can be read; where it cannot, every single row would fail, and slowly."""
    try:
        old.execute(f"SELECT id FROM {table} LIMIT 0")
    except _UNREADABLE:
        return False
    return True


def _parts(old: sqlite3.Connection, number: int) -> dict[str, list[dict[str, Any]]] | None:
    found = {}
    try:
        for table in OF_A_FITTING:
            rows = old.execute(f"SELECT {', '.join(TABLES[table])} FROM {table} WHERE fitting = ?", [number]).fetchall()
            found[table] = [dict(zip(TABLES[table], row, strict=True)) for row in rows]
    except (*_UNREADABLE, OverflowError):
        return None
    return found
