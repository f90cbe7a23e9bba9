"""Forgetting for good: rows, files and the database's empty pages."""

from pathlib import Path

from fitcheck.core.diary import Entry
from fitcheck.diary.database import NoRoomError, plainly
from fitcheck.diary.photos import FOLDER, remove_photos
from fitcheck.diary.rescue import COPIES
from fitcheck.diary.reserve import keep_reserve, spend_reserve
from fitcheck.diary.store import Diary


def delete_wearer(diary: Diary, name: str) -> dict[str, int]:
    """Remove a wearer and all of hers from rows, files and the database's empty pages.

    Returns
    -------
    dict
        What was removed: garments, fittings, photos copied, photos referenced (the files stay), measurements, placed points, posture
        numbers, tape measurements, notes, states of pattern pieces.
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
        "states of pattern pieces": "piece WHERE garment IN (SELECT id FROM garment WHERE wearer = ?)",
    }
    removed = {what: int(diary.rows(f"SELECT count(*) FROM {source}", [her])[0][0]) for what, source in counts.items()}
    _remove(diary, "wearer", her, f"id IN {mine}")
    return removed


def delete_fitting(diary: Diary, number: int) -> Entry:
    """Remove one fitting; its garment and wearer stay, and so do the pattern pieces as its round left them."""
    entry = diary.entry(number)
    _remove(diary, "fitting", number, "id = ?")
    return entry


def copies_kept(folder: Path) -> list[Path]:
    """Copies that a rescue made of a damaged diary: what they hold is not forgotten with the rest."""
    return sorted(folder.glob(COPIES))


def _remove(diary: Diary, table: str, number: int, fittings: str) -> None:
    """Remove a row with all that hangs on it, whole or not at all; on a full disk piece by piece, in the room kept for that."""
    try:
        _remove_rows(diary, table, number, fittings)
    except NoRoomError:
        spend_reserve(diary.folder)
        for fitting, uid in diary.checked("fitting", "id, uid", f"WHERE {fittings}", [number]):
            remove_photos(diary.folder / FOLDER / uid)
            _remove_rows(diary, "fitting", fitting, "id = ?")
        if table == "wearer":
            _remove_rows(diary, table, number, fittings)
        keep_reserve(diary.folder)


def _remove_rows(diary: Diary, table: str, number: int, fittings: str) -> None:
    with diary.writing():
        diary.connection.execute(f"INSERT INTO leftover SELECT uid FROM fitting WHERE {fittings}", [number])
        diary.connection.execute(f"DELETE FROM {table} WHERE id = ?", [number])
    with diary.writing():  # which sweeps
        pass
    with plainly(diary.folder):
        diary.connection.executescript("PRAGMA incremental_vacuum")  # `execute` would free a single page
        diary.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
