"""Photos taken in: known by what they begin with, never by their name; nothing stays of what is refused."""

import asyncio
import stat
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from fitcheck.core.errors import PhotoError
from fitcheck.web.uploads import film_kind_of, kind_of, take

JPEG = b"\xff\xd8\xff\xe0" + b"\0" * 60


def alone(work: Coroutine[Any, Any, Any]) -> Any:
    """Run it in a thread of its own: the browser of other tests has a loop going in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


async def pieces(*parts: bytes):
    for part in parts:
        yield part


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (JPEG, ".jpg"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 8, ".png"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", ".webp"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", ".heic"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0", ".heic"),
    ],
)
def test_kinds_of_photos(head, kind):
    assert kind_of(head) == kind


@pytest.mark.parametrize(
    "head", [b"", b"<svg", b"GIF89a", b"%PDF-1.4", b"PK\x03\x04", b"\0\0\0\x18ftypmp42", b"RIFF\x10\0\0\0WAVEfmt ", b"<html>"]
)
def test_what_is_no_photo(head):
    with pytest.raises(PhotoError, match="no photo"):
        kind_of(head)


def test_a_photo_in_many_small_pieces(tmp_path):
    path = alone(take(pieces(*(JPEG[i : i + 1] for i in range(len(JPEG)))), tmp_path))
    assert path.suffix == ".jpg"
    assert path.read_bytes() == JPEG
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_what_is_refused_leaves_nothing(tmp_path):
    for parts in ((b"GIF89a", b"\0" * 100), (), (b"\xff",)):
        with pytest.raises(PhotoError):
            alone(take(pieces(*parts), tmp_path))
    assert not list(tmp_path.iterdir())


def test_a_film_is_refused_before_all_of_it_came(tmp_path):
    came = 0

    async def endless():
        nonlocal came
        while True:
            came += 1
            yield b"\0\0\0\x18ftypmp42" + b"\0" * 1000

    with pytest.raises(PhotoError):
        alone(take(endless(), tmp_path))
    assert came == 1


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (b"\0\0\0\x18ftypmp42\0\0\0\0", ".mp4"),
        (b"\0\0\0\x14ftypqt  \0\0\0\0", ".mov"),
        (b"\x1a\x45\xdf\xa3\x9f\x42\x86\x81\x01", ".webm"),
    ],
)
def test_kinds_of_films(head, kind):
    assert film_kind_of(head) == kind


@pytest.mark.parametrize("head", [JPEG, b"", b"\0\0\0\x18ftypheic\0\0\0\0", b"RIFF\x10\0\0\0AVI LIST", b"<html>"])
def test_what_is_no_film(head):
    with pytest.raises(PhotoError, match="no film"):
        film_kind_of(head)
