"""Pieces of files: joined in order, gone on with, and refused before they are written."""

import stat

import pytest

from fitcheck.core.errors import PhotoError
from fitcheck.web.phone.incoming import MOST_BEGUN, Incoming, Piece, ending_of

JPEG = b"\xff\xd8\xff\xe0" + bytes(range(100))
MP4 = b"\0\0\0\x18ftypmp42" + b"\0" * 40
NAME = "0123456789abcdef" * 2


def test_joined_and_gone_on_with_after_a_pause(tmp_path):
    assert Incoming(tmp_path).add(Piece(NAME, 0, len(JPEG), JPEG[:30])) is None
    later = Incoming(tmp_path)  # a new code was asked for
    assert later.have(NAME) == 30
    path = later.add(Piece(NAME, 30, len(JPEG), JPEG[30:]))
    assert path.suffix == ".jpg"
    assert path.read_bytes() == JPEG
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("at", [0, 29, 31])
def test_a_piece_that_does_not_go_on_is_left_alone(tmp_path, at):
    incoming = Incoming(tmp_path)
    incoming.add(Piece(NAME, 0, len(JPEG), JPEG[:30]))
    assert incoming.add(Piece(NAME, at, len(JPEG), JPEG[30:40])) is None
    assert incoming.have(NAME) == 30


@pytest.mark.parametrize("head", [b"<html><script>", b"", b"GIF89a" + b"\0" * 30, b"PK\x03\x04" + b"\0" * 30])
def test_neither_photo_nor_film(tmp_path, head):
    with pytest.raises(PhotoError, match="neither a photo nor a film"):
        Incoming(tmp_path).add(Piece(NAME, 0, 1000, head))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(("data", "size"), [(JPEG, 60_000_001), (MP4, 2_000_000_001), (JPEG, len(JPEG) - 1)])
def test_too_large(tmp_path, data, size):
    with pytest.raises(PhotoError, match="larger than"):
        Incoming(tmp_path).add(Piece(NAME, 0, size, data))
    assert not list(tmp_path.iterdir())


def test_a_size_that_grows_on_the_way(tmp_path):
    incoming = Incoming(tmp_path)
    incoming.add(Piece(NAME, 0, 1000, JPEG))
    with pytest.raises(PhotoError, match="larger than the 60 MB"):
        incoming.add(Piece(NAME, len(JPEG), 60_000_001, JPEG))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["", "a", "../" + "a" * 29, NAME + "0", NAME.upper(), "/etc/passwd"])
def test_names_reach_no_other_folder(tmp_path, name):
    with pytest.raises(PhotoError):
        Incoming(tmp_path).add(Piece(name, 0, len(JPEG), JPEG))
    with pytest.raises(PhotoError):
        Incoming(tmp_path).have(name)
    assert not list(tmp_path.iterdir())


def test_not_any_number_of_files_is_begun(tmp_path):
    incoming = Incoming(tmp_path)
    for n in range(MOST_BEGUN):
        incoming.add(Piece(f"{n:032x}", 0, 1000, JPEG))
    with pytest.raises(PhotoError, match="Too many"):
        incoming.add(Piece(f"{MOST_BEGUN:032x}", 0, 1000, JPEG))
    assert len(list(tmp_path.iterdir())) == MOST_BEGUN
    assert incoming.add(Piece(f"{0:032x}", len(JPEG), len(JPEG) + 1, b"x")) is not None


@pytest.mark.parametrize(("head", "ending"), [(JPEG, ".jpg"), (MP4, ".mp4"), (b"\0\0\0\x18ftypheic\0\0\0\0", ".heic")])
def test_endings(head, ending):
    assert ending_of(head) == ending
