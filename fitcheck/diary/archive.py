"""One wearer out of a diary and into another: a zip of plain JSON and photos, with a manifest that names every file and its hash."""

import hashlib
import json
import os
import sqlite3
import tempfile
import uuid
import zipfile
from pathlib import Path
from typing import Any

from fitcheck import __version__
from fitcheck.core.errors import DiaryError
from fitcheck.core.records import VIEWS
from fitcheck.diary.database import plainly
from fitcheck.diary.photos import FOLDER, make_folder
from fitcheck.diary.store import OF_A_FITTING, Diary

VERSION = 1
MANIFEST, ROWS = "manifest.json", "wearer.json"
MOST_BYTES = 20_000_000_000
MOST_JSON_BYTES = 500_000_000
_NOT_ONE = "This is no whole archive of a fitcheck diary"
_AGAIN = "Export it again with 'fitcheck diary export'."

Rows = dict[str, list[dict[str, Any]]]


def export_wearer(diary: Diary, wearer: str, path: Path) -> dict[str, int]:
    """Write all of one wearer's into a zip, whole or not at all.

    Photos that are only referenced stay where they are; the archive keeps their paths.

    Returns
    -------
    dict
        How many fittings and photos it holds.

    Raises
    ------
    DiaryError
        She is unknown, a copied photo is missing, or the zip cannot be written.
    """
    her = diary.wearer(wearer)
    rows = _rows_of(diary, her)
    uid_of = {row["id"]: row["uid"] for row in rows["fitting"]}
    copies = {f"{FOLDER}/{uid_of[p['fitting']]}/{p['file']}": p for p in rows["photo"] if p["kept"] == "copy"}
    with plainly(path.parent):
        handle, temporary = tempfile.mkstemp(prefix=".fitcheck-", suffix=".part", dir=path.parent)  # readable by its owner only
        try:
            with os.fdopen(handle, "wb") as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
                hashes = {ROWS: _put(archive, ROWS, json.dumps({"wearer": her} | rows, ensure_ascii=False).encode())}
                for name in copies:
                    hashes[name] = _put(archive, name, _photo(diary.folder / name), zipfile.ZIP_STORED)
                manifest = {"format": "fitcheck diary", "version": VERSION, "program": __version__, "wearer": her, "sha256": hashes}
                archive.writestr(MANIFEST, json.dumps(manifest, ensure_ascii=False, indent=1))
            os.replace(temporary, path)
        finally:
            Path(temporary).unlink(missing_ok=True)
    return {"fittings": len(rows["fitting"]), "photos": len(copies)}


def import_wearer(diary: Diary, path: Path, name: str | None = None) -> tuple[str, int]:
    """Bring in a wearer from a zip, whole or not at all; her fittings get numbers of their own.

    Parameters
    ----------
    name : str, optional
        Another name for her here.

    Returns
    -------
    tuple of str, int
        Her name and the number of fittings.

    Raises
    ------
    DiaryError
        The file is no archive, incomplete, changed, of a newer version, or her name is taken.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            rows = _checked(archive)
            her = name or str(rows.pop("wearer"))
            rows.pop("wearer", None)
            if her in diary.wearers():
                raise DiaryError(f"The diary already knows {her}.", "Import under another name with --as, or delete her first.")
            return her, _bring_in(diary, archive, her, rows)
    except (zipfile.BadZipFile, KeyError, TypeError, ValueError, sqlite3.IntegrityError) as error:
        raise DiaryError(f"{_NOT_ONE} ({path.name}).", _AGAIN) from error
    except OSError as error:
        raise DiaryError(f"{path} cannot be read ({error.strerror}).", "Check the file and its permissions.") from error


def _rows_of(diary: Diary, wearer: str) -> Rows:
    (her,) = diary.rows("SELECT id FROM wearer WHERE name = ?", [wearer])[0]
    fittings = "fitting IN (SELECT f.id FROM fitting f JOIN garment g ON g.id = f.garment WHERE g.wearer = ?)"
    where = {table: fittings for table in OF_A_FITTING} | {
        "garment": "wearer = ?",
        "fitting": "garment IN (SELECT id FROM garment WHERE wearer = ?)",
        "tape": "wearer = ?",
        "note": "wearer = ?",
    }
    with plainly(diary.folder):
        return {table: list(diary.db.query(f"SELECT * FROM {table} WHERE {term}", [her])) for table, term in where.items()}


def _put(archive: zipfile.ZipFile, name: str, data: bytes, how: int = zipfile.ZIP_DEFLATED) -> str:
    archive.writestr(name, data, how)
    return hashlib.sha256(data).hexdigest()


def _photo(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise DiaryError(
            f"The photo {path} is missing from the diary.", "Put it back from a backup, or delete its fitting first."
        ) from error


def _checked(archive: zipfile.ZipFile) -> dict[str, Any]:
    """The rows, once every file is what the manifest says; nothing in an archive is trusted before."""
    if sum(info.file_size for info in archive.infolist()) > MOST_BYTES or archive.getinfo(ROWS).file_size > MOST_JSON_BYTES:
        raise DiaryError("This archive is too large to be a wearer's diary.", _AGAIN)
    manifest = json.loads(archive.read(MANIFEST))
    if manifest["format"] != "fitcheck diary":
        raise ValueError("format")
    if int(manifest["version"]) > VERSION:
        raise DiaryError("This archive was written by a newer fitcheck.", "Update fitcheck and import it again.")
    for name, digest in manifest["sha256"].items():
        if hashlib.sha256(archive.read(name)).hexdigest() != digest:
            raise DiaryError(f"The archive is damaged: {name} has changed.", _AGAIN)
    rows: dict[str, Any] = json.loads(archive.read(ROWS))
    for photo in rows["photo"]:
        if photo["kept"] == "copy" and (photo["view"] not in VIEWS or photo["file"] != f"{photo['view']}.jpg"):
            raise ValueError("photo name")
    return rows


def _bring_in(diary: Diary, archive: zipfile.ZipFile, her: str, rows: Rows) -> int:
    uids = {row["id"]: (row["uid"], uuid.uuid4().hex) for row in rows["fitting"]}
    with diary.beginning([new for _, new in uids.values()]):
        wearer = diary.insert("wearer", {"name": her})
        garments = {row["id"]: diary.insert("garment", row | {"id": None, "wearer": wearer}) for row in rows["garment"]}
        fittings = {
            row["id"]: diary.insert("fitting", row | {"id": None, "garment": garments[row["garment"]], "uid": uids[row["id"]][1]})
            for row in rows["fitting"]
        }
        for table in OF_A_FITTING:
            for row in rows[table]:
                diary.insert(table, row | {"fitting": fittings[row["fitting"]]})
        for row in rows["tape"]:
            diary.insert("tape", row | {"wearer": wearer})
        for row in rows["note"]:
            diary.insert("note", row | {"id": None, "wearer": wearer, "fitting": fittings.get(row["fitting"])})
        for photo in rows["photo"]:
            if photo["kept"] == "copy":
                old, new = uids[photo["fitting"]]
                target = diary.folder / FOLDER / new
                make_folder(target)
                with open(os.open(target / photo["file"], os.O_WRONLY | os.O_CREAT, 0o600), "wb") as file:
                    file.write(archive.read(f"{FOLDER}/{old}/{photo['file']}"))
                    os.fsync(file.fileno())
    return len(fittings)
