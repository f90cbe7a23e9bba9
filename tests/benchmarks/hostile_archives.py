"""Archives of a wearer as no fitcheck writes them; a family of hostile.py."""

import hashlib
import json
import random
import shutil
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from benchmarks.hostile_diary import HERS, NASTY, made
from benchmarks.hostile_trial import Trial

from fitcheck.diary.archive import export_wearer
from fitcheck.diary.store import Diary


def content(folder: Path) -> tuple[object, ...]:
    """What must be the same after a refusal: names, fittings and photo folders."""
    with Diary(folder) as diary:
        with diary.writing():
            pass
        return tuple(diary.wearers()), len(diary.entries()), sorted(path.name for path in (folder / "photos").iterdir())


def archives(work: Path, count: int, luck: random.Random) -> Iterator[Trial]:
    """Mutated archives, imported; what was let in is then shown by every page and forgotten again."""
    work.mkdir()
    (work / "canary").write_text("whole")
    into = made(work / "into", 1)
    with Diary(made(work / "from", 5)) as diary:
        export_wearer(diary, HERS, work / "good.zip")
    before = content(into)
    whole = dict(_files(work / "good.zip"))
    for k in range(count):
        shutil.rmtree(work / "diary", ignore_errors=True)
        shutil.copytree(into, work / "diary")
        name, path = _archive(work, whole, luck)
        let_in: list[bool] = []
        words = ("diary", "import", str(path), "--as", "Clara", "--diary", "diary")
        yield Trial(f"{k} {name}", words, work, lambda code, let_in=let_in: _imported(work, code, before, let_in))
        if let_in:
            for words in (("diary", "list"), ("compare",), ("profile", "Clara"), ("posture", "Clara"), ("diary", "export", "Clara")):
                yield Trial(f"{k} {name}, then", (*words, "--diary", "diary"), work)
            words = ("diary", "delete", "Clara", "--yes", "--diary", "diary")
            yield Trial(f"{k} {name}, then", words, work, lambda _: _forgotten(work, before))


def _imported(work: Path, code: int, before: object, let_in: list[bool]) -> str:
    if (work / "canary").read_text() != "whole" or {path.name for path in work.iterdir()} - _KNOWN:
        return "something was written elsewhere"
    if code == 0:
        let_in.append(True)
        return ""
    return "" if content(work / "diary") == before else "half of it was imported"


def _forgotten(work: Path, before: object) -> str:
    return "" if content(work / "diary") == before else "something of her stayed"


_KNOWN = {"canary", "into", "from", "good.zip", "diary", "bad.zip", "compare.html", "profile.html", "posture.html", "Clara.zip"}


def _files(path: Path) -> Iterator[tuple[str, bytes]]:
    with zipfile.ZipFile(path) as archive:
        for name in archive.namelist():
            yield name, archive.read(name)


def _archive(work: Path, whole: dict[str, bytes], luck: random.Random) -> tuple[str, Path]:
    path = work / "bad.zip"
    how = luck.choice(
        (_bytes_changed, _cut, _list_changed, *([_rows_changed] * 6), _text_changed, _bomb, _packed_otherwise, _files_changed)
    )
    shutil.copy(work / "good.zip", path)
    return how.__name__.strip("_").replace("_", " ") + " " + how(path, whole, luck), path


def _bytes_changed(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    data = bytearray(path.read_bytes())
    changed = luck.choice((1, 3, 30, 300))
    for _ in range(changed):
        data[luck.randrange(len(data))] = luck.randrange(256)
    path.write_bytes(data)
    return str(changed)


def _cut(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    data = path.read_bytes()
    place = luck.randrange(len(data))
    path.write_bytes(luck.choice((data[:place], data[place:], data[:place] + data[: place // 2], b"", data * 2)))
    return str(place)


def _list_changed(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    """Fields of the zip's own list: sizes, packing, flags, places."""
    data = bytearray(path.read_bytes())
    places = [i for i in range(len(data) - 46) if data[i : i + 4] in (b"PK\x01\x02", b"PK\x03\x04", b"PK\x05\x06")]
    place, field = luck.choice(places), luck.choice((4, 6, 8, 10, 12, 16, 18, 20, 22, 24, 26, 28, 42))
    data[place + field : place + field + 4] = struct.pack("<I", luck.choice((0, 1, 9, 12, 99, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFF)))
    path.write_bytes(data)
    return f"field {field}"


def _rows_changed(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    """One to three values of her rows, or of a kept result within them; the manifest agrees."""
    rows = json.loads(whole["wearer.json"])
    said = []
    for _ in range(luck.choice((1, 1, 1, 3))):
        if rows.get("result") and luck.random() < 0.4:
            try:
                kept = json.loads(rows["result"][0]["data"])
                said.append("result " + _value_changed(kept, luck))
                rows["result"][0]["data"] = json.dumps(kept)
                continue
            except (TypeError, ValueError, KeyError):
                pass
        said.append(_value_changed(rows, luck))
    _write(path, whole | {"wearer.json": json.dumps(rows).encode()})
    return "; ".join(said)


def _value_changed(held: Any, luck: random.Random) -> str:
    places = list(_places(held))
    parent, key, trail = luck.choice(places)
    deed = luck.random()
    if deed < 0.1:
        del parent[key]
        return f"{trail} removed"
    if deed < 0.2 and isinstance(parent, list):
        parent.append(parent[key])
        return f"{trail} twice"
    if deed < 0.25 and isinstance(parent, dict):
        parent[luck.choice(("id", "fitting", "extra", "x" * 1000))] = parent.get(key)
        return f"beside {trail}"
    parent[key] = luck.choice(NASTY) if deed < 0.8 else luck.choice(places)[0]
    try:
        json.dumps(held)
    except (ValueError, RecursionError):  # now it holds itself
        parent[key] = []
    return f"{trail} = {str(parent[key])[:40]!r}"


def _places(held: Any, trail: str = "") -> Iterator[tuple[Any, Any, str]]:
    items = list(held.items()) if isinstance(held, dict) else list(enumerate(held))
    for key, value in items:
        yield held, key, f"{trail}/{key}"[:80]
        if isinstance(value, (dict, list)):
            yield from _places(value, f"{trail}/{key}")


def _text_changed(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    deep, many = luck.choice((500, 5_000, 300_000)), luck.choice((10_000, 8_000_000))
    texts = (
        b"[" * deep,
        b'{"a":' * deep,
        b"[" + b"[]," * many + b"0]",
        b"1" * 6000,
        b"\xff\xfe" * 100,
        b"null",
        b'"x"',
        b"{}",
        b"NaN",
        b"",
    )
    k = luck.randrange(len(texts))
    name = luck.choice(("wearer.json", "wearer.json", "manifest.json"))
    files = whole | {name: texts[k]}
    if name == "manifest.json":
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for one, data in files.items():
                archive.writestr(one, data)
    else:
        _write(path, files)
    return f"{name} {k} {deep} {many}"


def _bomb(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    size = luck.choice((2_000_000, 60_000_000, 400_000_000))
    name = luck.choice(("manifest.json", "wearer.json", "photos/x/front.jpg"))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for one, data in whole.items():
            if one != name:
                archive.writestr(one, data)
        with archive.open(name, "w", force_zip64=True) as member:
            for _ in range(size // 1_000_000):
                member.write(b" " * 1_000_000)
    if luck.random() < 0.5:  # and the list lies about it
        data = bytearray(path.read_bytes())
        place = data.rfind(b"PK\x01\x02")
        data[place + 24 : place + 28] = struct.pack("<I", 500)
        path.write_bytes(data)
    return f"{name} {size}"


def _packed_otherwise(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    packing = luck.choice((zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA, zipfile.ZIP_STORED))
    with zipfile.ZipFile(path, "w", packing) as archive:
        for name, data in whole.items():
            archive.writestr(name, data)
    if luck.random() < 0.5:
        data = bytearray(path.read_bytes())
        for place in (i for i in range(len(data) - 10) if data[i : i + 4] == b"PK\x01\x02"):
            data[place + 8] |= 1  # locked
        path.write_bytes(data)
    return str(packing)


def _files_changed(path: Path, whole: dict[str, bytes], luck: random.Random) -> str:
    files, name = dict(whole), luck.choice(list(whole))
    deed = luck.randrange(5)
    if deed == 0:
        del files[name]
    elif deed == 1:
        files["../canary"] = b"escaped"
    elif deed == 2:
        files[name] = luck.randbytes(2000)
    elif deed == 3:
        files |= {f"photos/{k}/front.jpg": b"\xff\xd8" for k in range(luck.choice((10, 60_000)))}
    else:
        files["x" * 60_000] = b""
    _write(path, files, luck.random() < 0.5)
    return f"{deed} {name}"


def _write(path: Path, files: dict[str, bytes], named: bool = True) -> None:
    """An archive whose manifest agrees with it, if it is one still."""
    try:
        manifest = json.loads(files.get("manifest.json", b'{"format": "fitcheck diary", "version": 1}'))
    except ValueError:  # noise
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
            for name, data in files.items():
                archive.writestr(name, data)
        return
    held = {name: data for name, data in files.items() if name != "manifest.json"}
    manifest["sha256"] = {name: hashlib.sha256(data).hexdigest() for name, data in held.items() if named or not name.startswith("photos")}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, data in (held | {"manifest.json": json.dumps(manifest).encode()}).items():
            archive.writestr(name, data)
