"""Opening the diary's database: safe for two programs at once, for a sudden stop, and for what an older or newer fitcheck left."""

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from errno import ENOSPC
from pathlib import Path

from fitcheck.core.errors import DiaryError
from fitcheck.diary import migrations

FILE_NAME = "diary.sqlite"
PATIENCE_S = 30.0  # another program may be recording
_SAFE_SO_FAR = "Everything recorded before is safe."


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
    if not create and not path.exists():
        raise DiaryError(
            f"There is no diary in {folder}.", "Record a fitting with 'fitcheck check FOLDER --diary', or name the right folder."
        )
    with plainly(folder):
        if create:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))  # SQLite gives its log files the same mode
        connection = sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)
        try:
            return _prepared(connection, folder)
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
    except sqlite3.DatabaseError as error:
        said = str(error)
        if "locked" in said or "busy" in said:
            raise DiaryError(
                f"Another program is writing to the diary in {folder}.", "Wait until it has finished and try again."
            ) from error
        if "full" in said or "disk I/O" in said:
            raise DiaryError(
                f"There is no room to write to the diary in {folder}.", f"Free some space and try again. {_SAFE_SO_FAR}"
            ) from error
        if "readonly" in said or "unable to open" in said:
            raise DiaryError(f"The diary in {folder} cannot be opened for writing.", "Check that you may read and write there.") from error
        raise DiaryError(
            f"The diary in {folder} is damaged ({said}).",
            f"Move {FILE_NAME} elsewhere and keep it; then 'fitcheck diary rescue' copies what can still be read into a new diary.",
        ) from error
    except OSError as error:
        if error.errno == ENOSPC:
            raise DiaryError(
                f"There is no room to write to the diary in {folder}.", f"Free some space and try again. {_SAFE_SO_FAR}"
            ) from error
        raise DiaryError(f"The diary in {folder} cannot be used ({error.strerror}).", "Check the folder and its permissions.") from error
