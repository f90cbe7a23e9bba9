"""Files a user types in, mistyped in every way; a family of hostile.py."""

import random
import shutil
from collections.abc import Iterator
from pathlib import Path

from benchmarks.hostile_diary import One

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
[seam_colours]
shoulder = "red"
side = "dark blue"
[tape]
unit = "cm"
bust = 89
waist = 73.5
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
    *(
        "[" * 500 + "]" * 500,
        '"' + "y" * 70_000 + '"',
        '"\\u0000"',
        "[1, 2, 3]",
        "[[0, 0], [99999, 99999]]",
        "'wearer_left'",
        "\x00",
        "[9000, 1]",
    ),
)


def tomls(work: Path, count: int, luck: random.Random) -> Iterator[One]:
    """Mutated `fitting.toml`, `placed.toml` beside one photo, and size tables."""
    work.mkdir()
    sizes = (SAMPLES / "sizes.toml").read_text()
    for k in range(count):
        shutil.rmtree(work / "fitting", ignore_errors=True)
        (work / "fitting").mkdir()
        shutil.copy(SAMPLES / "control" / "right.jpg", work / "fitting")
        name, text = luck.choice((("fitting.toml", FITTING), ("placed.toml", PLACED), ("sizes.toml", sizes)))
        (work / "fitting" / name).write_bytes(_mutated(text, luck))
        words = ("check", "fitting", "--out", "out")
        if name == "sizes.toml":
            words = ("size", "--chart", "fitting/sizes.toml", "--full-bust", "89", "--high-bust", "84", "--waist", "70", "--hip", "95")
        yield f"{k} {name}", words, work, None


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
    data = bytearray("\n".join(lines).encode())
    if data and luck.random() < 0.15:
        data[luck.randrange(len(data))] = luck.randrange(256)
    return bytes(data)
