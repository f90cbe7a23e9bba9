"""Forgetting for good: rows, files and the database's empty pages."""

from fitcheck.core.diary import Entry
from fitcheck.diary.database import plainly
from fitcheck.diary.store import Diary


def delete_wearer(diary: Diary, name: str) -> dict[str, int]:
    """Remove a wearer and all of hers from rows, files and the database's empty pages.

    Returns
    -------
    dict
        What was removed: garments, fittings, photos copied, photos referenced (the files stay), measurements, placed points, posture
        numbers, tape measurements, notes.
    """
    her = diary.wearer_number(diary.wearer(name))
    mine = "(SELECT f.id FROM fitting f JOIN garment g ON g.id = f.garment WHERE g.wearer = ?)"
    counts = {
        "garments": "garment WHERE wearer = ?",
        "fittings": f"fitting WHERE id IN {mine}",
        "photos copied": f"photo WHERE kept = 'copy' AND fitting IN {mine}",
        "photos referenced": f"photo WHERE kept = 'reference' AND fitting IN {mine}",
        "measurements": f"measurement WHERE fitting IN {mine}",
        "placed points": f"placed WHERE fitting IN {mine}",
        "posture numbers": f"posture WHERE fitting IN {mine}",
        "tape measurements": "tape WHERE wearer = ?",
        "notes": "note WHERE wearer = ?",
    }
    with diary.writing():
        removed = {what: int(diary.rows(f"SELECT count(*) FROM {source}", [her])[0][0]) for what, source in counts.items()}
        diary.connection.execute(f"INSERT INTO leftover SELECT uid FROM fitting WHERE id IN {mine}", [her])
        diary.connection.execute("DELETE FROM wearer WHERE id = ?", [her])
    _forget(diary)
    return removed


def delete_fitting(diary: Diary, number: int) -> Entry:
    """Remove one fitting; its garment and wearer stay."""
    entry = diary.entry(number)
    with diary.writing():
        diary.connection.execute("INSERT INTO leftover SELECT uid FROM fitting WHERE id = ?", [number])
        diary.connection.execute("DELETE FROM fitting WHERE id = ?", [number])
    _forget(diary)
    return entry


def _forget(diary: Diary) -> None:
    with diary.writing():
        pass
    with plainly(diary.folder):
        diary.connection.executescript("PRAGMA incremental_vacuum")  # `execute` would free a single page
        diary.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
