"""A wearer's archive, checked before anything of it is unpacked: it may come from anywhere."""

import hashlib
import io
import json
import re
import struct
import sys
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitcheck.core.errors import DiaryError
from fitcheck.diary.archive import FORMAT, MANIFEST, MOST_ROWS_BYTES, OF_A_WEARER, ROWS, SINCE_SECOND, VERSION, Rows
from fitcheck.diary.contract import TABLES, UnsoundError, whole_row
from fitcheck.diary.kept_result import read_result
from fitcheck.diary.photos import FOLDER
from fitcheck.diary.store import OF_A_FITTING

MOST_BYTES = 20_000_000_000  # of all files together, unpacked
MOST_FILES = 50_000
MOST_LIST_BYTES = 10_000_000  # of the zip's own list of its files, and of the manifest
MOST_PHOTO_BYTES = 100_000_000
MOST_RATIO, FREE_OF_RATIO = 200, 1_000_000  # our JSON packs to a tenth; a small file may pack to anything
MOST_TEXT_MEMORY = 450_000_000
MOST_VALUES = 5_000_000
_CHUNK = 1 << 20
_STRING = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"', re.DOTALL)
# all that reading a zip of any content has been seen to raise (ValueError: a name in no encoding)
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError, RuntimeError, ValueError, OverflowError)
_AGAIN = "Export it again with 'fitcheck diary export'."


@dataclass(frozen=True, slots=True)
class Archive:
    """A checked archive, open while it is used.

    Attributes
    ----------
    rows : dict of table to rows
        Each what the contract says, all that is hers.
    hashes : dict of file name to its SHA-256
    size_bytes : int
        Of all photos.
    """

    path: Path
    file: zipfile.ZipFile
    wearer: str
    rows: Rows
    hashes: Mapping[str, str]
    size_bytes: int

    def photo(self, uid: str, name: str) -> bytes:
        """One photo, as the manifest says.

        Raises
        ------
        DiaryError
            The archive changed since it was checked.
        """
        with _as_sentences(self.path):
            return _as_told(self.file, f"{FOLDER}/{uid}/{name}", self.hashes, MOST_PHOTO_BYTES)


class _Sparing(io.BufferedReader):
    """A file that is never read in one piece beyond a limit: a zip's list of files is, however long it says it is."""

    def read(self, size: int | None = -1) -> bytes:
        if size is not None and size > MOST_LIST_BYTES:
            raise zipfile.BadZipFile("its list of files is too long")
        return super().read(size)


@contextmanager
def checked_archive(path: Path) -> Iterator[Archive]:
    """Open an archive and check all of it: kind, sizes, hashes, and every row as if it were new.

    Raises
    ------
    DiaryError
        It is no archive of a diary, incomplete, locked, changed, too large, or of a newer version.
    """
    with ExitStack() as held:
        with _as_sentences(path):
            if not path.is_file():
                kind = "no plain file" if path.exists() else "no such file"
                raise DiaryError(f"{path} cannot be read ({kind}).", "Name the zip of an export.")
            raw = held.enter_context(_Sparing(io.FileIO(path)))
            archive = _checked(held.enter_context(zipfile.ZipFile(raw)), path)
        yield archive


@contextmanager
def _as_sentences(path: Path) -> Iterator[None]:
    try:
        yield
    except UnsoundError as error:
        raise DiaryError(f"This is no whole archive of a fitcheck diary ({path.name}): {error.why}.", _AGAIN) from error
    except _BROKEN as error:
        raise DiaryError(f"This is no whole archive of a fitcheck diary ({path.name}).", _AGAIN) from error
    except OSError as error:
        raise DiaryError(f"{path} cannot be read ({error.strerror}).", "Check the file and its permissions.") from error


def _checked(file: zipfile.ZipFile, path: Path) -> Archive:
    sizes = _sizes(file)
    manifest = _json(_unpacked(file, MANIFEST, MOST_LIST_BYTES))
    hashes, version = manifest.get("sha256"), manifest.get("version")
    if manifest.get("format") != FORMAT or not isinstance(hashes, dict) or not isinstance(version, int):
        raise UnsoundError("its manifest is none")
    if version > VERSION:
        raise DiaryError("This archive was written by a newer fitcheck.", "Update fitcheck and import it again.")
    if hashes.keys() | {MANIFEST} != sizes.keys():
        raise UnsoundError("it does not hold the files that its manifest names")
    held = _json(_as_told(file, ROWS, hashes, MOST_ROWS_BYTES))
    if version < VERSION:
        held = {table: [] for table in SINCE_SECOND} | held
    rows = _rows(held)
    uid_of = {row["id"]: row["uid"] for row in rows["fitting"]}
    copies = {f"{FOLDER}/{uid_of[p['fitting']]}/{p['file']}" for p in rows["photo"] if p["kept"] == "copy"}
    if hashes.keys() - {ROWS} != copies:
        raise UnsoundError("its photos are not those of its fittings")
    for name in copies:
        if not _as_told(file, name, hashes, MOST_PHOTO_BYTES).startswith(b"\xff\xd8"):
            raise UnsoundError(f"{name} is no photo")
    wearer = TABLES["wearer"]["name"]
    try:
        return Archive(path, file, wearer(held.get("wearer")), rows, hashes, sum(sizes[name] for name in copies))
    except ValueError as error:
        raise UnsoundError(f"the name of the wearer {error}") from None


def _sizes(file: zipfile.ZipFile) -> dict[str, int]:
    """What each file will take, by the list alone; nothing is unpacked before this list has been found harmless."""
    infos = file.infolist()
    sizes = {info.filename: info.file_size for info in infos}
    if len(infos) > MOST_FILES or sum(sizes.values()) > MOST_BYTES:
        raise DiaryError("This archive is too large to be a wearer's diary.", _AGAIN)
    if any(info.flag_bits & 1 for info in infos):
        raise DiaryError("This archive is locked with a password.", "Unpack and pack it again without one, or export it again.")
    if len(sizes) < len(infos):
        raise UnsoundError("it holds two files of one name")
    for info in infos:
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise UnsoundError("it is packed in a way that fitcheck does not use")
        if info.file_size > FREE_OF_RATIO + MOST_RATIO * info.compress_size:
            raise UnsoundError(f"{info.filename[:80]} would unpack to far more than such a file ever holds")
    return sizes


def _unpacked(file: zipfile.ZipFile, name: str, most: int) -> bytes:
    """One file, piece by piece and never beyond what its list says."""
    try:
        info = file.getinfo(name)
    except KeyError:
        raise UnsoundError(f"{name} is missing") from None
    if info.file_size > most:
        raise UnsoundError(f"{name} is too large")
    found = bytearray()
    with file.open(info) as member:
        while piece := member.read(_CHUNK):
            found += piece
    return bytes(found)


def _as_told(file: zipfile.ZipFile, name: str, hashes: Mapping[str, Any], most: int) -> bytes:
    data = _unpacked(file, name, most)
    if hashlib.sha256(data).hexdigest() != hashes.get(name):
        raise DiaryError(f"The archive is damaged: {name} has changed.", _AGAIN)
    return data


def _json(data: bytes) -> dict[str, Any]:
    """Plain data, refused before it could fill the memory: a value takes some hundred bytes however short it is written."""
    values = sum(_STRING.sub(b"", data).count(mark) for mark in (b",", b"[", b"{"))
    try:
        words = data.decode()
        if values > MOST_VALUES or sys.getsizeof(words) > MOST_TEXT_MEMORY:
            raise UnsoundError("it holds more than a wearer's diary ever does")
        held = json.loads(words)
    except (ValueError, RecursionError):
        raise UnsoundError("it holds no readable JSON") from None
    if not isinstance(held, dict):
        raise UnsoundError("it holds no readable JSON")
    return held


def _rows(held: Mapping[str, Any]) -> Rows:
    """All rows, each as the contract has it, each belonging to another row of hers."""
    rows: Rows = {}
    for table in OF_A_WEARER:
        given = held.get(table)
        if not isinstance(given, list) or not all(isinstance(row, dict) for row in given):
            raise UnsoundError(f"its rows of the kind {table} are missing")
        rows[table] = [whole_row(table, row) for row in given]
    garments, fittings = ({row.get("id") for row in rows[table]} for table in ("garment", "fitting"))
    if None in garments | fittings or len(garments) < len(rows["garment"]) or len(fittings) < len(rows["fitting"]):
        raise UnsoundError("its garments or fittings are not numbered")
    strays = [row for row in rows["fitting"] if row["garment"] not in garments]
    strays += [row for table in OF_A_FITTING for row in rows[table] if row["fitting"] not in fittings]
    strays += [row for table in ("note", "piece") for row in rows[table] if row["fitting"] not in fittings | {None}]
    strays += [row for row in rows["piece"] if row["garment"] not in garments]
    if strays:
        raise UnsoundError("it holds parts of fittings that are not in it")
    _check_results(rows, fittings)
    return rows


def _check_results(rows: Rows, fittings: set[Any]) -> None:
    ends: dict[int, dict[str, list[float | None]]] = {number: {} for number in fittings}
    for m in rows["measurement"]:
        ends[m["fitting"]][m["key"]] = [m[f"{end}_{axis}_px"] for end in ("from", "to") for axis in "xy"]
    if {row["fitting"] for row in rows["result"]} != fittings:
        raise UnsoundError("the result of a fitting is missing")
    for row in rows["result"]:
        read_result(row["data"], ends[row["fitting"]])
