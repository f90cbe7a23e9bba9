"""A wearer out of a checked archive into a diary, whole or not at all."""

import os
import shutil
import uuid

from fitcheck.core.errors import DiaryError
from fitcheck.diary.contract import LONGEST_NAME
from fitcheck.diary.database import NoRoomError
from fitcheck.diary.names import tidy
from fitcheck.diary.photos import FOLDER, make_folder
from fitcheck.diary.store import OF_A_FITTING, Diary
from fitcheck.diary.unpacking import Archive

_SPARE_BYTES = 10_000_000


def import_wearer(diary: Diary, archive: Archive, name: str | None = None) -> tuple[str, int]:
    """Bring in a wearer; her fittings get numbers of their own.

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
        Her name is taken, or there is no room.
    """
    her = tidy(archive.wearer if name is None else name)
    if not her or len(her) > LONGEST_NAME:
        raise DiaryError("That is no name for a wearer.", f"Give one of up to {LONGEST_NAME} letters with --as.")
    if diary.wearer_number(her):
        raise DiaryError(f"The diary already knows {diary.wearer(her)}.", "Import under another name with --as, or delete her first.")
    if shutil.disk_usage(diary.folder).free < archive.size_bytes + _SPARE_BYTES:
        raise NoRoomError(f"There is no room for her photos in {diary.folder}.", "Free some space and try again. Nothing was changed.")
    # what only lay on another machine is nowhere here, whatever the archive says
    photos = [row | {"file": row["file"] if row["kept"] == "copy" else ""} for row in archive.rows["photo"]]
    rows = {**archive.rows, "photo": photos}
    uids = {row["id"]: (row["uid"], uuid.uuid4().hex) for row in rows["fitting"]}
    with diary.beginning([new for _, new in uids.values()]):
        wearer = diary.insert("wearer", {"name": her})
        garments = {
            row["id"]: diary.garment_number(wearer, row["name"]) or diary.insert("garment", _new(row) | {"wearer": wearer})
            for row in rows["garment"]
        }
        fittings = {
            row["id"]: diary.insert_beside(_new(row) | {"garment": garments[row["garment"]], "uid": uids[row["id"]][1]})
            for row in rows["fitting"]
        }
        for table in OF_A_FITTING:
            diary.insert_all(table, [row | {"fitting": fittings[row["fitting"]]} for row in rows[table]])
        diary.insert_all("tape", [row | {"wearer": wearer} for row in rows["tape"]])
        diary.insert_all("note", [_new(row) | {"wearer": wearer, "fitting": fittings.get(row["fitting"])} for row in rows["note"]])
        for row in rows["piece"]:
            diary.insert("piece", _new(row) | {"garment": garments[row["garment"]], "fitting": fittings.get(row["fitting"])})
        for photo in photos:
            if photo["kept"] == "copy":
                old, new = uids[photo["fitting"]]
                target = diary.folder / FOLDER / new
                make_folder(target)
                with open(os.open(target / photo["file"], os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                    file.write(archive.photo(old, photo["file"]))
                    os.fsync(file.fileno())
    return diary.wearer(her), len(fittings)


def _new(row: dict[str, object]) -> dict[str, object]:
    """The row without the number it had elsewhere."""
    return {column: value for column, value in row.items() if column != "id"}
