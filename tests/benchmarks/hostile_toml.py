"""Files a user types in, mistyped in every way, and a lens profile; a family of hostile.py."""

import json
import random
import shutil
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from benchmarks.hostile_trial import Trial

from fitcheck.core.camera import LensProfile

SAMPLES = Path(__file__).parents[2] / "sample_images"
FITTING = """garment = "summer bodice"
front = "dart"
tissue = "half"
seam_allowance_mm = 15
units = "in"
card_bar_mm = 98.5
card_height_mm = 1008
height_mm = 1652
date = "2026-04-02"
camera = "Name Model"
[seam_colours]
shoulder = "red"
side = "dark blue"
[tape]
unit = "cm"
bust = 89
waist = 73.5
[observed]
sleeve_tight_R = 12
"""
PLACED = """[[point]]
name = "shoulder_point"
side = "wearer_right"
view = "right"
xy = [612, 498]
sure = false
[[seam]]
name = "shoulder"
side = "wearer_right"
view = "right"
points = [[600, 450], [606, 470], [612, 490]]
"""
NASTY = (
    *("nan", "inf", "-inf", "-1", "0", "1e308", "9" * 5000, '""', '"x"', "[]", "[[]]", "{}", "true", "1979-05-27", "07:32:00"),
    *("[" * 500 + "]" * 500, '"' + "y" * 70_000 + '"', '"\\u0000"', "[1, 2, 3]", "[[0, 0], [99999, 99999]]", "'wearer_left'", "\x00"),
    *("[9000, 1]", "[[0, 0], [0, 0]]", "[[1, 1], [1499, 1999], [1, 1]]", "[0.0000001, 1]", "[1499, 1999]", "0x10", "1_0", "+7", "'''\n'''"),
)
OF_PROFILES: tuple[Any, ...] = (
    None,
    True,
    -1,
    0,
    1,
    1e-300,
    1e308,
    float("nan"),
    float("inf"),
    10**400,
    "",
    "x",
    "x" * 99999,
    [],
    {},
    [[1]],
)
ENCODINGS = ("utf-16", "utf-32", "latin-1", "utf-8-sig", "cp037")
CAMERA = "Scene Maker 3004.6260628866576"  # of the sample photos
MEASURED_EVERY = 200  # trials whose photo is measured, not only opened


def tomls(work: Path, count: int, luck: random.Random) -> Iterator[Trial]:
    """Mutated `fitting.toml`, `placed.toml` and lens profiles beside one photo, and size tables."""
    work.mkdir()
    sizes = (SAMPLES / "sizes.toml").read_text()
    for k in range(count):
        shutil.rmtree(work / "fitting", ignore_errors=True)
        (work / "fitting").mkdir()
        shutil.copy(SAMPLES / "control" / "right.jpg", work / "fitting")
        name, text = luck.choice((("fitting.toml", FITTING), ("placed.toml", PLACED), ("sizes.toml", sizes), ("lenses.json", "")))
        data = _mutated(text, luck) if text else _profile(luck)
        (work / "fitting" / name).write_bytes(data)
        if name == "lenses.json":
            (work / "fitting" / "fitting.toml").write_text(f'camera = "{CAMERA}"')
        words = ("check", "fitting", "--out", "out", "--profile", "fitting/lenses.json")
        if name == "sizes.toml":
            words = ("size", "--chart", "fitting/sizes.toml", "--full-bust", "89", "--high-bust", "84", "--waist", "70", "--hip", "95")
        elif name == "fitting.toml" and luck.random() < 0.3:
            words = luck.choice(
                (
                    ("sheet", "forward_shoulder", "--amount", "1", "--fitting", "fitting/fitting.toml"),
                    ("size", "--chart", str(SAMPLES / "sizes.toml"), "--fitting", "fitting/fitting.toml"),
                )
            )
        yield Trial(f"{k} {name} {data[:2000]!r}", words, work, whole=k % MEASURED_EVERY == 0)


def _mutated(text: str, luck: random.Random) -> bytes:
    lines = text.splitlines()
    for _ in range(luck.choice((1, 1, 2, 5))):
        i = luck.randrange(len(lines))
        key, equals, _ = lines[i].partition("=")
        what = luck.randrange(6)
        if what == 0 and equals:
            lines[i] = f"{key}= {luck.choice(NASTY)}"
        elif what == 1:
            lines.insert(luck.randrange(len(lines)), lines[i])
        elif what == 2:
            lines[i] = lines[i][: luck.randrange(len(lines[i]) + 1)]
        elif what == 3:
            lines[i] = "".join(chr(luck.randrange(1, 0x300)) if luck.random() < 0.1 else c for c in lines[i])
        elif what == 4 and equals:
            lines[i] = f"{key.strip()[::-1]} {equals} {luck.choice(NASTY)}"
        else:
            del lines[i]
            lines = lines or [""]
    written = luck.choice(("\n", "\n", "\r\n", "\r")).join(lines)
    data = bytearray(written.encode(luck.choice(ENCODINGS), "replace") if luck.random() < 0.1 else written.encode())
    if data and luck.random() < 0.15:
        data[luck.randrange(len(data))] = luck.randrange(256)
    return bytes(data)


def _profile(luck: random.Random) -> bytes:
    lens = LensProfile(CAMERA, 4 / 3, 0.6, 0.001, 0.0, 0.01, 0.0, 0.01, photos=12)
    rows: dict[str, Any] = {"version": 1, "cameras": [asdict(lens), asdict(lens)]}
    for _ in range(luck.choice((1, 2))):
        row = luck.choice([rows, *(rows.get("cameras") or [])]) if isinstance(rows.get("cameras"), list) else rows
        if isinstance(row, dict):
            row[luck.choice(list(row))] = luck.choice(OF_PROFILES)
    data = bytearray(json.dumps(rows).encode())
    if luck.random() < 0.2:
        data[luck.randrange(len(data))] = luck.randrange(256)
    return luck.choice((*[bytes(data)] * 4, b"[" * luck.choice((10, 100_000)), b"", bytes(data[: luck.randrange(len(data))])))
