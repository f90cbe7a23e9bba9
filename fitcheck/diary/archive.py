"""One wearer out of a diary: a zip of plain JSON and photos, with a manifest that names every file and its hash."""

import hashlib
import json
import os
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from fitcheck import __version__
from fitcheck.core.errors import DiaryError
from fitcheck.diary.contract import TABLES
from fitcheck.diary.database import plainly
from fitcheck.diary.photos import FOLDER
from fitcheck.diary.reading import hers
from fitcheck.diary.store import OF_A_FITTING, Diary

FORMAT, VERSION = "fitcheck diary", 2
MANIFEST, ROWS = "manifest.json", "wearer.json"
MOST_ROWS_BYTES = 200_000_000  # about a thousand fittings; more is not read back
OF_A_WEARER = ("garment", "fitting", *OF_A_FITTING, "tape", "note", "piece")
SINCE_SECOND = ("piece",)  # kinds of rows that an archive of the first version does not hold

Rows = dict[str, list[dict[str, Any]]]


def export_wearer(diary: Diary, wearer: str, path: Path) -> dict[str, int]:
    """Write all of one wearer's into a zip, whole or not at all.

    Photos that are only referenced stay where they are, and where that is, the archive does not say.

    Returns
    -------
    dict
        How many fittings and photos it holds, and how many photos it does not hold because they are only referenced.

    Raises
    ------
    DiaryError
        She is unknown, a copied photo is missing, the diary is damaged, or the zip cannot be written.
    """
    her = diary.wearer(wearer)
    rows = _rows_of(diary, her)
    uid_of = {row["id"]: row["uid"] for row in rows["fitting"]}
    copies = [f"{FOLDER}/{uid_of[p['fitting']]}/{p['file']}" for p in rows["photo"] if p["kept"] == "copy"]
    counts = {"fittings": len(rows["fitting"]), "photos": len(copies), "photos referenced": len(rows["photo"]) - len(copies)}
    data = json.dumps({"wearer": her} | rows, ensure_ascii=False).encode()
    if len(data) > MOST_ROWS_BYTES:
        raise DiaryError(f"{her} has too many fittings for one archive.", "Copy the diary's folder instead.")
    with plainly(path.absolute().parent):
        handle, temporary = tempfile.mkstemp(prefix=".fitcheck-", suffix=".part", dir=path.parent)  # readable by its owner only
        try:
            with os.fdopen(handle, "wb") as file, zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
                hashes = {ROWS: _put(archive, ROWS, data)}
                for name in copies:
                    hashes[name] = _put(archive, name, _photo(diary.folder / name), zipfile.ZIP_STORED)
                manifest = {"format": FORMAT, "version": VERSION, "program": __version__, "wearer": her, "sha256": hashes}
                manifest |= {"photos_not_included": counts["photos referenced"]}
                archive.writestr(MANIFEST, json.dumps(manifest, ensure_ascii=False, indent=1))
            os.replace(temporary, path)
        finally:
            Path(temporary).unlink(missing_ok=True)
    return counts


def _rows_of(diary: Diary, wearer: str) -> Rows:
    number = diary.wearer_number(wearer)
    where = {table: hers(diary, wearer) for table in OF_A_FITTING} | {
        "garment": ("WHERE wearer = ?", [number]),
        "fitting": ("WHERE garment IN (SELECT id FROM garment WHERE wearer = ?)", [number]),
        "tape": ("WHERE wearer = ?", [number]),
        "note": ("WHERE wearer = ?", [number]),
        "piece": ("WHERE garment IN (SELECT id FROM garment WHERE wearer = ?) ORDER BY id", [number]),
    }
    rows = {
        table: [dict(zip(TABLES[table], row, strict=True)) for row in diary.checked(table, ", ".join(TABLES[table]), *where[table])]
        for table in OF_A_WEARER
    }
    rows["photo"] = [row | {"file": row["file"] if row["kept"] == "copy" else ""} for row in rows["photo"]]
    return rows


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
