"""A step of the diary's tables: wearers and garments that differ by capitals or by the composition of accents become one, nothing lost."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from fitcheck.diary.names import folded, tidy

if TYPE_CHECKING:
    from sqlite_utils import Database

_NAMELESS = "no name"


def one_name(db: Database) -> None:
    """Give every name its folded form, unique from now on; those that are one are put together under the spelling that came first.

    Two tape measurements of one day that differ: the second becomes a note. The same photos recorded under both spellings: both stay.
    """
    for table in ("wearer", "garment"):
        db.execute(f"ALTER TABLE {table} ADD COLUMN folded TEXT NOT NULL DEFAULT ''")
    db.execute("CREATE TABLE news (id INTEGER PRIMARY KEY, text TEXT NOT NULL)")
    keep = _put_wearers_together(db)
    _put_garments_together(db, keep)
    for gone, kept in keep.items():
        if gone != kept:
            db.execute("DELETE FROM wearer WHERE id = ?", [gone])
    for table in ("wearer", "garment"):
        for number, name in db.execute(f"SELECT id, name FROM {table}").fetchall():
            shown = tidy(name) or _NAMELESS
            db.execute(f"UPDATE {table} SET name = ?, folded = ? WHERE id = ?", [shown, folded(shown), number])
    db.execute("CREATE UNIQUE INDEX wearer_folded ON wearer (folded)")
    db.execute("CREATE UNIQUE INDEX garment_folded ON garment (wearer, folded)")


def _put_wearers_together(db: Database) -> dict[int, int]:
    """Move notes and tape measurements; returns which wearer each becomes."""
    first: dict[str, tuple[int, str]] = {}
    keep: dict[int, int] = {}
    for number, name in db.execute("SELECT id, name FROM wearer ORDER BY id").fetchall():
        kept, spelling = first.setdefault(folded(name) or _NAMELESS, (number, name))
        keep[number] = kept
        if kept == number:
            continue
        db.execute("UPDATE note SET wearer = ? WHERE wearer = ?", [kept, number])
        _put_tapes_together(db, kept, number, name)
        sql = "SELECT f.id FROM fitting f JOIN garment g ON g.id = f.garment WHERE g.wearer = ? ORDER BY f.id"
        fittings = ", ".join(str(id) for (id,) in db.execute(sql, [number])) or "none"
        says = f'The diary held one wearer under two spellings, "{name}" and "{spelling}": all of hers now stands under "{spelling}".'
        _note(db, kept, f'{says} Fittings recorded under "{name}": {fittings}.')
        db.execute("INSERT INTO news (text) VALUES (?)", [says])
    return keep


def _put_tapes_together(db: Database, kept: int, gone: int, name: str) -> None:
    for day, what, value in db.execute("SELECT day, name, value_mm FROM tape WHERE wearer = ?", [gone]).fetchall():
        had = db.execute("SELECT value_mm FROM tape WHERE wearer = ? AND day = ? AND name = ?", [kept, day, what]).fetchone()
        if had is None:
            db.execute("INSERT INTO tape VALUES (?, ?, ?, ?)", [kept, day, what, value])
        elif had[0] != value:
            _note(db, kept, f'Tape of {day} under "{name}": {what} {value:g} mm.', day)
    db.execute("DELETE FROM tape WHERE wearer = ?", [gone])


def _put_garments_together(db: Database, keep: dict[int, int]) -> None:
    first: dict[tuple[int, str], tuple[int, str]] = {}
    gone: list[int] = []
    moved: list[tuple[int, int]] = []
    for number, wearer, name in db.execute("SELECT id, wearer, name FROM garment ORDER BY id").fetchall():
        kept, spelling = first.setdefault((keep[wearer], folded(name) or _NAMELESS), (number, name))
        moved.append((keep[wearer], number))
        if kept == number:
            continue
        _put_fittings_together(db, kept, number)
        _put_makers_together(db, keep[wearer], kept, number)
        gone.append(number)
        if name.casefold() != spelling.casefold() or name != spelling:
            says = f'One garment stood under two spellings, "{name}" and "{spelling}": its fittings now stand under "{spelling}".'
            db.execute("INSERT INTO news (text) VALUES (?)", [says])
    for number in gone:
        db.execute("DELETE FROM garment WHERE id = ?", [number])
    for wearer, number in moved:
        db.execute("UPDATE garment SET wearer = ? WHERE id = ?", [wearer, number])


def _put_fittings_together(db: Database, kept: int, gone: int) -> None:
    for number, fingerprint in db.execute("SELECT id, fingerprint FROM fitting WHERE garment = ?", [gone]).fetchall():
        if db.execute("SELECT 1 FROM fitting WHERE garment = ? AND fingerprint = ?", [kept, fingerprint]).fetchone():
            fingerprint = f"{fingerprint}+{number}"  # the same photos under both spellings
        db.execute("UPDATE fitting SET garment = ?, fingerprint = ? WHERE id = ?", [kept, fingerprint, number])


def _put_makers_together(db: Database, wearer: int, kept: int, gone: int) -> None:
    for column, word in (("maker", "maker"), ("size_bought", "size bought")):
        have, other = (db.execute(f"SELECT {column} FROM garment WHERE id = ?", [id]).fetchone()[0] for id in (kept, gone))
        if other and not have:
            db.execute(f"UPDATE garment SET {column} = ? WHERE id = ?", [other, kept])
        elif other != have and other:
            (name,) = db.execute("SELECT name FROM garment WHERE id = ?", [gone]).fetchone()
            _note(db, wearer, f'The {word} of "{name}" was also told as {other}.')


def _note(db: Database, wearer: int, text: str, day: str = "") -> None:
    db.execute("INSERT INTO note (wearer, day, text) VALUES (?, ?, ?)", [wearer, day or date.today().isoformat(), text])
