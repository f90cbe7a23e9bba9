"""Opening the diary's database: safe for two programs at once, for a sudden stop, and for what an older or newer fitcheck left."""

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from errno import EDQUOT, EFBIG, ENOSPC
from pathlib import Path

from fitcheck.core.errors import DiaryError
from fitcheck.diary import migrations
from fitcheck.diary.contract import UnsoundError

FILE_NAME = "diary.sqlite"
PATIENCE_S = 30.0  # another program may be recording
_SAFE_SO_FAR = "Everything recorded before is safe."
# SQLite tells a write that found no room as an input or output error too
_NO_ROOM_CODES = (sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_FSYNC, sqlite3.SQLITE_IOERR_SHMOPEN)


class NoRoomError(DiaryError):
    """The disk, or what the user may use of it, is full."""


def default_folder() -> Path:
    """The user's own data folder, as the system has it."""
    from platformdirs import user_data_path

    return user_data_path("fitcheck", appauthor=False) / "diary"


def open_database(folder: Path, create: bool) -> sqlite3.Connection:
    """Open the diary's database, bring its tables up to date.

    Parameters
    ----------
    folder : Path
    create : bool
        Make a new diary where there is none; it is readable by its owner only.

    Raises
    ------
    DiaryError
        There is none, or it is damaged, busy, or of a newer fitcheck.
    """
    path = folder / FILE_NAME
    log = folder / f"{FILE_NAME}-wal"
    if not path.exists() and log.exists() and log.stat().st_size:
        raise DiaryError(  # a new file would take the log for its own and empty it
            f"{FILE_NAME} is gone from {folder}, but {log.name} with the last recordings is still there.",
            f"Move {FILE_NAME} back beside it; if the diary is damaged, run 'fitcheck diary rescue' then.",
        )
    if not create and not path.exists():
        raise DiaryError(
            f"There is no diary in {folder}.", "Record a fitting with 'fitcheck check FOLDER --diary', or name the right folder."
        )
    with plainly(folder):
        if create:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))  # SQLite gives its log files the same mode
        try:
            return _connected(path)
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode not in _NO_ROOM_CODES:
                raise
            # A full disk has no room for the index of the log that programs share; alone, SQLite keeps it in memory.
            return _connected(path, alone=True)


def _connected(path: Path, alone: bool = False) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
    try:
        if alone:
            connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        return _prepared(connection, path.parent)
    except BaseException:
        connection.close()
        raise


def _prepared(connection: sqlite3.Connection, folder: Path) -> sqlite3.Connection:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA secure_delete = ON")
    if connection.execute("PRAGMA page_count").fetchone() == (0,):
        # freed pages can then be given back without copying the whole file; it can only be chosen before the first table
        connection.execute("PRAGMA auto_vacuum = INCREMENTAL")
    _write_ahead(connection)
    connection.execute("PRAGMA synchronous = FULL")
    if connection.execute("SELECT 1 FROM sqlite_master WHERE type IN ('view', 'trigger')").fetchone():
        raise damaged(folder, "it holds what no fitcheck wrote")
    known, applied = {step.__name__ for step in migrations.STEPS}, migrations.applied(connection)
    if applied - known:
        raise DiaryError(f"The diary in {folder} was written by a newer fitcheck.", "Update fitcheck; nothing in the diary was changed.")
    if known - applied:
        with transaction(connection):
            migrations.apply_pending(connection)
    return connection


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Switch to write-ahead logging; SQLite does not wait by itself when two programs do that at once."""
    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All or nothing, and nobody else writes meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


@contextmanager
def plainly(folder: Path) -> Iterator[None]:
    """What the database or the disk refuses, as one clear sentence.

    Raises
    ------
    DiaryError
        For every error of SQLite or of the file system.
    """
    try:
        yield
    except sqlite3.IntegrityError as error:
        raise UnsoundError(str(error).replace("constraint failed", "is already there or missing")) from error
    except sqlite3.Error as error:
        raise _as_sentence(error, folder) from error
    except UnicodeDecodeError as error:  # from within the words of SQLite's own message
        raise damaged(folder, "its tables are not named as they should be") from error
    except (OverflowError, UnicodeEncodeError) as error:
        raise UnsoundError("a number is too large, or a word holds characters that are none") from error
    except OSError as error:
        if error.errno in (ENOSPC, EDQUOT, EFBIG):
            raise _no_room(folder) from error
        raise DiaryError(f"The diary in {folder} cannot be used ({error.strerror}).", "Check the folder and its permissions.") from error


def damaged(folder: Path, said: str) -> DiaryError:
    """The one message that sends to the rescue: only for a file that is itself not what it should be."""
    return DiaryError(
        f"The diary in {folder} is damaged ({said}).",
        "Run 'fitcheck diary rescue': it keeps a copy of all of it and makes a new diary of what can still be read.",
    )


def _no_room(folder: Path) -> DiaryError:
    return NoRoomError(f"There is no room to write to the diary in {folder}.", f"Free some space and try again. {_SAFE_SO_FAR}")


def _as_sentence(error: sqlite3.Error, folder: Path) -> DiaryError:
    """By SQLite's result code; its words alone do not tell a full disk from a failing one."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT)  # none: a text in the file that is no UTF-8
    kind = code & 0xFF
    if kind in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return DiaryError(f"Another program is writing to the diary in {folder}.", "Wait until it has finished and try again.")
    if kind == sqlite3.SQLITE_FULL or code in _NO_ROOM_CODES:
        return _no_room(folder)
    if kind == sqlite3.SQLITE_IOERR:
        return DiaryError(
            f"The disk did not do what the diary in {folder} needs ({error}).", f"Check the disk and try again. {_SAFE_SO_FAR}"
        )
    if kind in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return DiaryError(f"The diary in {folder} cannot be opened for writing.", "Check that you may read and write there.")
    if kind == sqlite3.SQLITE_TOOBIG:
        return UnsoundError("a text is too long")
    if kind in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR, sqlite3.SQLITE_MISMATCH, sqlite3.SQLITE_FORMAT):
        return damaged(folder, str(error))  # our own statements are right, so an error in one is a missing table or column
    return DiaryError(f"The diary in {folder} cannot be used ({error}).", f"Try again. {_SAFE_SO_FAR}")
