"""Databases of a diary as no fitcheck leaves them; a family of hostile.py."""

import random
import shutil
import sqlite3
import struct
from collections.abc import Iterator
from pathlib import Path

from benchmarks.hostile_diary import HERS, NASTY, made
from benchmarks.hostile_trial import Trial

from fitcheck.core.errors import DiaryError
from fitcheck.diary.archive import export_wearer
from fitcheck.diary.store import Diary

PAGES = (
    *(("diary", "list"), ("compare",), ("compare", "1", "2"), ("profile", HERS), ("posture", HERS), ("diary", "export", HERS)),
    *(("diary", "note", "seen", "--fitting", "2"), ("diary", "tape", HERS, "hip", "99"), ("diary", "delete", "--fitting", "1", "--yes")),
    *(("diary", "delete", HERS, "--yes"), ("diary", "rescue"), ("diary", "import", "../good.zip", "--as", "Clara")),
)
COMMANDS = 3  # that meet one database


def databases(work: Path, count: int, luck: random.Random) -> Iterator[Trial]:
    """Mutated databases, each met by a few of the commands on a copy of its own."""
    work.mkdir()
    (work / "canary").write_text("whole")
    sound = made(work / "sound", 6)
    with Diary(made(work / "other", 2)) as diary:
        export_wearer(diary, HERS, work / "good.zip")
    for k in range(count):
        shutil.rmtree(work / "bad", ignore_errors=True)
        shutil.copytree(sound, work / "bad")
        how = luck.choice((_bytes_of, *([_row_of] * 4), _pages_of, _cut_of, _log_of, _tables_of, _header_of))
        name = f"{k} {how.__name__.strip('_').replace('_', ' ')} {how(work / 'bad' / 'diary.sqlite', luck)}"
        for words in luck.sample(PAGES, COMMANDS):
            place = work / "run"
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir()
            shutil.copytree(work / "bad", place / "diary")
            kept = _photos(place / "diary")
            yield Trial(name, (*words, "--diary", "diary"), place, lambda code, words=words, kept=kept: _whole(work, words, code, kept))


def _photos(folder: Path) -> int:
    return sum(path.is_file() for path in (folder / "photos").rglob("*"))


def _whole(work: Path, words: tuple[str, ...], code: int, photos: int) -> str:
    if (work / "canary").read_text() != "whole" or not (work / "sound" / "photos").is_dir():
        return "something elsewhere was changed"
    if words[:2] in (("diary", "rescue"), ("diary", "list")) and _photos(work / "run" / "diary") < photos:
        return "photos are gone"
    if words[:2] == ("diary", "rescue") and code == 0:
        try:
            with Diary(work / "run" / "diary") as diary:
                diary.entries()
        except DiaryError as error:
            return f"the rescued diary cannot be used: {error}"
    return ""


def _bytes_of(path: Path, luck: random.Random) -> str:
    data, changed = bytearray(path.read_bytes()), luck.choice((1, 5, 50, 500))
    for _ in range(changed):
        data[luck.randrange(len(data))] = luck.randrange(256)
    path.write_bytes(data)
    return str(changed)


def _header_of(path: Path, luck: random.Random) -> str:
    data = bytearray(path.read_bytes())
    place = luck.randrange(100)
    data[place] = luck.choice((0, 1, 2, 255, luck.randrange(256)))
    path.write_bytes(data)
    return str(place)


def _pages_of(path: Path, luck: random.Random) -> str:
    data = bytearray(path.read_bytes())
    pages, filling = luck.choice((1, 3, 10)), luck.choice((b"\x00" * 4096, b"\xff" * 4096, luck.randbytes(4096), bytes(data[4096:8192])))
    for _ in range(pages):
        place = 4096 * luck.randrange(len(data) // 4096)
        data[place : place + 4096] = filling
    path.write_bytes(data)
    return f"{pages} {filling[:2]!r}"


def _cut_of(path: Path, luck: random.Random) -> str:
    data = path.read_bytes()
    place = luck.randrange(len(data))
    path.write_bytes(luck.choice((data[:place], data[place:], b"", data + luck.randbytes(5000))))
    return str(place)


def _log_of(path: Path, luck: random.Random) -> str:
    log = luck.choice(
        (luck.randbytes(9000), b"", path.read_bytes()[:8000], struct.pack(">8I", 0x377F0682, 3007000, 4096, 0, 1, 2, 3, 4) * 200)
    )
    part = luck.choice(("-wal", "-wal", "-journal", "-shm"))
    path.with_name(path.name + part).write_bytes(log)
    if luck.random() < 0.3:
        path.unlink()
        return f"{part} alone"
    return part


def _row_of(path: Path, luck: random.Random) -> str:
    """Values that SQLite takes in any column but fitcheck never wrote."""
    said = []
    with sqlite3.connect(path, isolation_level=None) as raw:
        raw.execute("PRAGMA foreign_keys = OFF")
        raw.execute("PRAGMA ignore_check_constraints = ON")
        tables = [name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'")]
        for _ in range(luck.choice((1, 1, 3))):
            table = luck.choice(tables)
            column = luck.choice([row[1] for row in raw.execute(f"PRAGMA table_info({table})")])
            value = luck.choice([one for one in (*NASTY, b"\xff\xfe", b"", "\U0001f9f5") if not isinstance(one, (list, dict))])
            value = value.encode("utf-8", "surrogatepass") if isinstance(value, str) and "\ud800" in value else value
            where = "" if luck.random() < 0.3 else f" WHERE rowid % {luck.choice((2, 3))} = 1"
            try:
                if isinstance(value, bytes) and luck.random() < 0.5:
                    raw.execute(f"UPDATE {table} SET {column} = CAST(? AS TEXT)", [value])
                else:
                    raw.execute(f"UPDATE {table} SET {column} = ?{where if 'fitting' not in column else ''}", [value])
                said.append(f"{table}.{column} = {str(value)[:30]!r}")
            except (sqlite3.Error, OverflowError):
                continue
    raw.close()
    return "; ".join(said) or "nothing"


def _tables_of(path: Path, luck: random.Random) -> str:
    deeds = (
        "DROP TABLE result",
        "DROP TABLE leftover",
        "DROP TABLE news",
        "DROP INDEX wearer_folded",
        "ALTER TABLE fitting RENAME COLUMN day TO days",
        "CREATE TRIGGER t AFTER INSERT ON note BEGIN DELETE FROM fitting; END",
        "CREATE VIEW v AS WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x FROM c) SELECT x FROM c",
        "DELETE FROM _sqlite_migrations",
        "DELETE FROM _sqlite_migrations WHERE name = 'one_name'",
        "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fitcheck', 'later', '')",
        "INSERT INTO leftover SELECT uid FROM fitting",
        "INSERT INTO leftover VALUES ('../../sound')",
        "DELETE FROM garment",
        "DELETE FROM result",
        "DELETE FROM measurement",
        "UPDATE fitting SET garment = 99",
        "PRAGMA user_version = 77",
    )
    deed = luck.choice(deeds)
    with sqlite3.connect(path, isolation_level=None) as raw:
        raw.execute(deed)
    raw.close()
    return deed
