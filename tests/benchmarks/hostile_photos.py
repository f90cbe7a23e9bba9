"""Photos of a fitting as no camera leaves them; a family of hostile.py."""

import io
import random
import shutil
import struct
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pillow_heif
from benchmarks.hostile_trial import Trial
from PIL import Image, ImageOps

from fitcheck.core.records import VIEWS

SAMPLE = Path(__file__).parents[2] / "sample_images" / "control"
TAGS = (271, 272, 274, 282, 296, 305, 306, 34665, 34853, 37386, 41989, 40962, 40963, 41486, 41488)
VALUES: tuple[object, ...] = (0, 1, 3, 6, 8, 9, 65535, "", "x" * 5000, "6", (1, 2, 3), b"\xff\xfe", -1, 2**32 - 1, 1e300, "\x00")
SMALL_PX = (600, 800)  # of the photos that are only opened
MEASURED_EVERY = 130  # trials, with photos at their full size
Change = Callable[[Path, random.Random], str]


def photos(work: Path, count: int, luck: random.Random) -> Iterator[Trial]:
    """One or two photos of a sound fitting, one of them treated badly: opened, and now and then measured."""
    pillow_heif.register_heif_opener()
    work.mkdir()
    for small in (True, False):
        folder = work / ("small" if small else "full")
        folder.mkdir()
        for view in VIEWS:
            image = Image.open(SAMPLE / f"{view}.jpg")
            (image.resize(SMALL_PX) if small else image).save(folder / f"{view}.jpg", quality=92, exif=image.getexif())
    for k in range(count):
        whole = k % MEASURED_EVERY == 0
        shutil.rmtree(work / "fitting", ignore_errors=True)
        (work / "fitting").mkdir()
        views = luck.sample(VIEWS, luck.choice((1, 2)) if whole else 1)
        for view in views:
            shutil.copy(work / ("full" if whole else "small") / f"{view}.jpg", work / "fitting")
        how = luck.choice(CHANGES if whole else (*CHANGES, *OTHER_FILES))
        told = how(work / "fitting" / f"{views[0]}.jpg", luck)
        yield Trial(f"{k} {how.__name__.strip('_')} {told}", ("check", "fitting", "--out", "out"), work, whole=whole)


def _bytes(path: Path, luck: random.Random) -> str:
    places = luck.choice((1, 10, 100, 1000))
    path.write_bytes(_damaged(path.read_bytes(), places, luck))
    return str(places)


def _damaged(data: bytes, places: int, luck: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(places):
        changed[luck.randrange(min(luck.choice((100, 700, len(changed))), len(changed)))] = luck.randrange(256)
    return bytes(changed)


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


def _types_of_exif(path: Path, luck: random.Random) -> str:
    """Any tag with any type, count and value, as bytes, which Pillow itself would not write."""
    rows = [
        (luck.choice((*TAGS, luck.randrange(65536))), luck.randrange(14), luck.choice((0, 1, 2, 4, 65535, 2**31)), luck.randbytes(4))
        for _ in range(luck.choice((1, 4, 40)))
    ]
    rows += [(luck.choice((34665, 34853)), 4, 1, struct.pack("<I", luck.choice((8, 26, 0, 2**32 - 1))))] * luck.randrange(2)
    body = b"".join(struct.pack("<HHI", tag, kind, many) + value for tag, kind, many, value in rows)
    block = b"II*\x00\x08\x00\x00\x00" + struct.pack("<H", luck.choice((len(rows), 65535))) + body + luck.randbytes(luck.choice((4, 400)))
    data = path.read_bytes()
    segment = b"Exif\x00\x00" + block
    path.write_bytes(data[:2] + b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + data[2:])
    return " ".join(f"{tag}/{kind}x{many}" for tag, kind, many, _ in rows[:4])


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


def _otherwise(path: Path, luck: random.Random) -> str:
    """In another format, sound or damaged."""
    kind, mode = luck.choice(KINDS)
    data, places = _as(path, kind, mode), luck.choice((0, 1, 10, 300))
    path.unlink()
    path.with_suffix(luck.choice((f".{kind}", ".jpg", ".png"))).write_bytes(_damaged(data, places, luck))
    return f"{kind} {mode}, {places} bytes changed"


@cache
def _as(path: Path, kind: str, mode: str) -> bytes:
    image, out = Image.open(path), io.BytesIO()
    if mode == "moving":
        image.save(out, kind, save_all=True, append_images=[image.rotate(5), image.rotate(10)])
    else:
        image.convert(mode).save(out, {"heic": "HEIF", "jpg": "JPEG"}.get(kind, kind))
    return out.getvalue()


KINDS = (
    *(("png", "RGB"), ("png", "RGBA"), ("png", "P"), ("png", "1"), ("png", "I;16"), ("png", "LA"), ("png", "moving"), ("jpg", "CMYK")),
    *(
        ("webp", "RGB"),
        ("webp", "RGBA"),
        ("webp", "moving"),
        ("heic", "RGB"),
        ("heic", "RGBA"),
        ("gif", "P"),
        ("tiff", "RGB"),
        ("bmp", "RGB"),
    ),
)


def _no_photo(path: Path, luck: random.Random) -> str:
    """Bytes of other things under a photo's name."""
    begins = luck.choice(BEGINNINGS)
    path.with_suffix(luck.choice((".jpg", ".png", ".heic", ".webp", ".HEIF"))).write_bytes(
        begins + luck.randbytes(luck.choice((0, 3, 5000)))
    )
    if luck.random() < 0.5:
        path.unlink(missing_ok=True)
    return repr(begins[:20])


BEGINNINGS = (
    *(b"", b"\xff\xd8", b"\xff\xd8\xff\xe1\xff\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\xff\xff\xff\xffWEBPVP8 ", b"RIFF\x00\x00\x00\x00WEBP"),
    *(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00", b"\x00\x00\x00\x00ftypheic", b"GIF89a", b"BM", b"II*\x00", b"%PDF-1.7", b"PK\x03\x04"),
    *(b"%!PS-Adobe-3.0 EPSF-3.0", b"P6 99999 99999 255 ", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"\xff\x0a", b"8BPS\x00\x01"),
)


def _bomb(path: Path, luck: random.Random) -> str:
    """A small file that claims, or truly holds, a great many pixels."""
    width, height = luck.choice(((65_000, 65_000), (2**31 - 1, 2**31 - 1), (0, 0), (1, 2**31 - 1), (9_000, 9_000), (8_900, 8_900)))
    path.unlink()
    head = struct.pack(">IIBBBBB", width, height, luck.choice((1, 8, 16)), luck.choice((0, 2, 3, 6)), 0, 0, 0)
    packed = zlib.compress(bytes(luck.choice((0, 10_000, 30_000_000))), 9)
    chunks = [(b"IHDR", head), *([(b"zTXt", b"a\x00\x00" + packed)] * luck.choice((0, 1, 60))), (b"IDAT", packed), (b"IEND", b"")]
    data = b"".join(struct.pack(">I", len(d)) + name + d + struct.pack(">I", zlib.crc32(name + d)) for name, d in chunks)
    path.with_suffix(".png").write_bytes(b"\x89PNG\r\n\x1a\n" + data)
    return f"{width} x {height}, {len(data)} bytes"


CHANGES: tuple[Change, ...] = (_bytes, _cut, _exif, _types_of_exif, _compressed, _cropped, _stretched, _mirrored_or_turned)
OTHER_FILES: tuple[Change, ...] = (_otherwise, _otherwise, _no_photo, _bomb)
