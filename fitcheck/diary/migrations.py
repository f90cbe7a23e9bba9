"""The diary's tables, step by step. Every step has a name, runs in a transaction, and is never changed once it was published."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import TYPE_CHECKING

from fitcheck.diary.one_name import one_name

if TYPE_CHECKING:  # only a step that is still to be made needs the package, and its import costs more than most commands
    from sqlite_utils import Database

SET = "fitcheck"
_FIRST = """
CREATE TABLE wearer (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE);
CREATE TABLE garment (
  id INTEGER PRIMARY KEY, wearer INTEGER NOT NULL REFERENCES wearer ON DELETE CASCADE, name TEXT NOT NULL COLLATE NOCASE,
  maker TEXT NOT NULL DEFAULT '', size_bought TEXT NOT NULL DEFAULT '', UNIQUE (wearer, name));
CREATE TABLE fitting (
  id INTEGER PRIMARY KEY AUTOINCREMENT, uid TEXT NOT NULL UNIQUE, garment INTEGER NOT NULL REFERENCES garment ON DELETE CASCADE,
  day TEXT NOT NULL, recorded TEXT NOT NULL, stage TEXT NOT NULL, retake INTEGER NOT NULL DEFAULT 0, fingerprint TEXT NOT NULL,
  photos INTEGER NOT NULL, summary TEXT NOT NULL, facts TEXT NOT NULL, UNIQUE (garment, fingerprint));
CREATE INDEX fitting_day ON fitting (garment, day);
CREATE TABLE result (fitting INTEGER PRIMARY KEY REFERENCES fitting ON DELETE CASCADE, data TEXT NOT NULL);
CREATE TABLE photo (
  fitting INTEGER NOT NULL REFERENCES fitting ON DELETE CASCADE, view TEXT NOT NULL, file TEXT NOT NULL, kept TEXT NOT NULL
  CHECK (kept IN ('copy', 'reference')), sha256 TEXT NOT NULL, width_px INTEGER NOT NULL, height_px INTEGER NOT NULL,
  PRIMARY KEY (fitting, view)) WITHOUT ROWID;
CREATE TABLE measurement (
  fitting INTEGER NOT NULL REFERENCES fitting ON DELETE CASCADE, key TEXT NOT NULL, value REAL NOT NULL, sd REAL NOT NULL,
  from_x_px REAL, from_y_px REAL, to_x_px REAL, to_y_px REAL, PRIMARY KEY (fitting, key)) WITHOUT ROWID;
CREATE TABLE posture (
  fitting INTEGER NOT NULL REFERENCES fitting ON DELETE CASCADE, id TEXT NOT NULL, side TEXT NOT NULL DEFAULT '', value REAL NOT NULL,
  unit TEXT NOT NULL, sd REAL NOT NULL, PRIMARY KEY (fitting, id, side)) WITHOUT ROWID;
CREATE TABLE advised (
  fitting INTEGER NOT NULL REFERENCES fitting ON DELETE CASCADE, alteration TEXT NOT NULL, side TEXT NOT NULL, amount_mm REAL NOT NULL,
  sd_mm REAL NOT NULL, probability REAL NOT NULL, now INTEGER NOT NULL, PRIMARY KEY (fitting, alteration, side)) WITHOUT ROWID;
CREATE TABLE expected (
  fitting INTEGER NOT NULL REFERENCES fitting ON DELETE CASCADE, alteration TEXT NOT NULL, side TEXT NOT NULL, key TEXT NOT NULL,
  before REAL NOT NULL, after REAL NOT NULL, PRIMARY KEY (fitting, alteration, side, key)) WITHOUT ROWID;
CREATE TABLE placed (
  fitting INTEGER NOT NULL REFERENCES fitting ON DELETE CASCADE, view TEXT NOT NULL, name TEXT NOT NULL, side TEXT NOT NULL DEFAULT '',
  x_px REAL NOT NULL, y_px REAL NOT NULL, PRIMARY KEY (fitting, view, name, side)) WITHOUT ROWID;
CREATE TABLE leftover (uid TEXT PRIMARY KEY) WITHOUT ROWID;
CREATE TABLE tape (
  wearer INTEGER NOT NULL REFERENCES wearer ON DELETE CASCADE, day TEXT NOT NULL, name TEXT NOT NULL, value_mm REAL NOT NULL,
  PRIMARY KEY (wearer, day, name)) WITHOUT ROWID;
CREATE TABLE note (
  id INTEGER PRIMARY KEY, wearer INTEGER NOT NULL REFERENCES wearer ON DELETE CASCADE,
  fitting INTEGER REFERENCES fitting ON DELETE CASCADE, day TEXT NOT NULL, text TEXT NOT NULL);
CREATE INDEX note_wearer ON note (wearer);
CREATE INDEX note_fitting ON note (fitting);
"""


def first_tables(db: Database) -> None:
    """Wearers, their garments and fittings, and what was found at each."""
    for statement in _FIRST.split(";"):
        if statement.strip():
            db.execute(statement)


def own_pieces(db: Database) -> None:
    """Pattern pieces of her own, one row for every state: as read, and as each fitting's round left it."""
    db.execute(
        "CREATE TABLE piece (id INTEGER PRIMARY KEY AUTOINCREMENT, garment INTEGER NOT NULL REFERENCES garment ON DELETE CASCADE, "
        "fitting INTEGER REFERENCES fitting ON DELETE SET NULL, name TEXT NOT NULL, day TEXT NOT NULL, data TEXT NOT NULL)"
    )
    db.execute("CREATE INDEX piece_garment ON piece (garment, name)")
    db.execute("CREATE INDEX piece_fitting ON piece (fitting)")


STEPS: tuple[Callable[[Database], None], ...] = (first_tables, one_name, own_pieces)


def applied(connection: sqlite3.Connection) -> set[str]:
    """Names of the steps a database has been through."""
    if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = '_sqlite_migrations'").fetchone():
        return set()
    return {name for (name,) in connection.execute("SELECT name FROM _sqlite_migrations WHERE migration_set = ?", [SET])}


def apply_pending(connection: sqlite3.Connection) -> None:
    """Bring the tables up to date; within a transaction."""
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

    migrations = Migrations(SET)
    for step in STEPS:
        migrations()(step)
    migrations.apply(Database(connection, execute_plugins=False))
