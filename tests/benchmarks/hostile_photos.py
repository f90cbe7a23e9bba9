"""Photos of a fitting as no camera leaves them; a family of hostile.py."""

import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

from benchmarks.hostile_diary import One
from PIL import Image, ImageOps

from fitcheck.core.records import VIEWS

SAMPLE = Path(__file__).parents[2] / "sample_images" / "control"
TAGS = (271, 272, 274, 282, 296, 305, 306)
VALUES: tuple[object, ...] = (0, 1, 3, 6, 8, 9, 65535, "", "x" * 5000, "6", (1, 2, 3), b"\xff\xfe")
Change = Callable[[Path, random.Random], str]


def photos(work: Path, count: int, luck: random.Random) -> Iterator[One]:
    """One or two photos of a sound fitting, one of them treated badly, checked."""
    work.mkdir()
    for k in range(count):
        shutil.rmtree(work / "fitting", ignore_errors=True)
        (work / "fitting").mkdir()
        views = luck.sample(VIEWS, luck.choice((1, 1, 2)))
        for view in views:
            shutil.copy(SAMPLE / f"{view}.jpg", work / "fitting")
        how = luck.choice(CHANGES)
        told = how(work / "fitting" / f"{views[0]}.jpg", luck)
        yield f"{k} {how.__name__.strip('_')} {told}", ("check", "fitting", "--out", "out"), work, None


def _bytes(path: Path, luck: random.Random) -> str:
    data = bytearray(path.read_bytes())
    places = luck.choice((1, 10, 100, 1000))
    for _ in range(places):
        data[luck.randrange(luck.choice((700, len(data))))] = luck.randrange(256)
    path.write_bytes(data)
    return str(places)


def _cut(path: Path, luck: random.Random) -> str:
    data = path.read_bytes()
    place = luck.randrange(len(data))
    path.write_bytes(luck.choice((data[:place], data[place:], data[:place] + data[: place // 2])))
    return str(place)


def _exif(path: Path, luck: random.Random) -> str:
    image = Image.open(path)
    tags = image.getexif()
    said = []
    for _ in range(luck.choice((1, 3))):
        tag, value = luck.choice(TAGS), luck.choice(VALUES)
        try:
            changed = Image.Exif()
            changed.update({**tags, tag: value})
            changed.tobytes()
        except Exception:  # what Pillow itself cannot write
            continue
        tags[tag] = value
        said.append(f"{tag}={value!r:.20}")
    image.save(path, exif=tags, quality=92)
    return " ".join(said)


def _saved(path: Path, luck: random.Random, change: Callable[[Image.Image], Image.Image], quality: int = 92) -> None:
    image = Image.open(path)
    exif = image.info.get("exif", b"")
    change(image).save(path, exif=exif, quality=quality)


def _compressed(path: Path, luck: random.Random) -> str:
    quality, share = luck.randrange(1, 101), luck.uniform(0.2, 1.0)
    _saved(path, luck, lambda image: image.resize((round(image.width * share), round(image.height * share))), quality)
    return f"quality {quality}, {share:.2f} of the size"


def _cropped(path: Path, luck: random.Random) -> str:
    x, y = sorted(luck.random() for _ in range(2)), sorted(luck.random() for _ in range(2))
    if luck.random() < 0.5:
        x = [0.0, 1.0]
    _saved(path, luck, lambda i: i.crop((int(x[0] * i.width), int(y[0] * i.height), int(x[1] * i.width) + 1, int(y[1] * i.height) + 1)))
    return f"{x} {y}"


def _stretched(path: Path, luck: random.Random) -> str:
    across, down = luck.choice(((1.0, 1.0), (1.0, luck.uniform(0.3, 3)), (luck.uniform(0.9, 1.1), luck.uniform(0.98, 1.02))))
    _saved(path, luck, lambda image: image.resize((round(image.width * across), round(image.height * down))))
    return f"{across:.3f} {down:.3f}"


def _mirrored_or_turned(path: Path, luck: random.Random) -> str:
    turn = luck.choice((0, 90, 180, 270, luck.uniform(0, 360)))
    mirror = luck.random() < 0.5
    _saved(path, luck, lambda image: (ImageOps.mirror(image) if mirror else image).rotate(turn, expand=True))
    return f"{turn} {mirror}"


CHANGES: tuple[Change, ...] = (_bytes, _cut, _exif, _compressed, _cropped, _stretched, _mirrored_or_turned)
