"""Pieces on the table: photos, steps back and forth, what lies beside them, and how they go."""

from dataclasses import replace

import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice

from fitcheck.core.errors import PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web.piece_work import MOST_PHOTOS, Picture, Pieces

FRONT, BACK = as_read(bodice("front", 1.0, 0.0, False, True)), as_read(bodice("back", 1.0, 0.0, False, False))
PICTURE = Picture(b"", (1, 1), (0.0, 0.0), 1.0)


@pytest.fixture
def pieces():
    return Pieces()


def test_no_more_photos_than_are_joined(pieces, tmp_path):
    work = pieces.begin(tmp_path)
    for k in range(MOST_PHOTOS):
        (tmp_path / f"{k}.jpg").touch()
        work.add(tmp_path / f"{k}.jpg", b"")
    extra = tmp_path / "extra.jpg"
    extra.touch()
    with pytest.raises(PhotoError, match="At most 6"):
        work.add(extra, b"")
    assert not extra.exists()
    work.remove("0")
    assert not (tmp_path / "0.jpg").exists()
    assert len(work.photos) == MOST_PHOTOS - 1


def test_steps_go_back_and_forth_and_a_new_one_forgets_those_taken_back(pieces, tmp_path):
    work = pieces.begin(tmp_path)
    work.was_read(FRONT, PICTURE)
    one, two = replace(FRONT, allowance_mm=1.0), replace(FRONT, allowance_mm=2.0)
    work.put(one)
    work.step(-1)
    work.step(-1)
    assert work.piece is FRONT
    work.step(1)
    assert work.piece is one
    work.step(-1)
    work.put(two)
    work.step(1)
    assert work.piece is two
    assert len(work.steps) == 2


def test_beside_it_lie_the_other_pieces_of_its_garment(pieces, tmp_path):
    of = {name: pieces.begin(tmp_path / name) for name in ("front", "back", "other")}
    for name, garment, piece in (("front", "bodice", FRONT), ("back", "bodice", BACK), ("other", "coat", BACK)):
        of[name].facts = FittingFacts(wearer="Anna", garment=garment)
        of[name].was_read(piece, PICTURE)
    assert pieces.beside(of["front"]) == {"back": BACK}
    assert pieces.all()[0] is of["other"]


def test_of_empty_ones_only_the_latest_are_kept(pieces, tmp_path):
    first = pieces.begin(tmp_path / "first")
    read = pieces.begin(tmp_path / "read")
    read.was_read(FRONT, PICTURE)
    for k in range(7):
        pieces.begin(tmp_path / str(k))
    assert pieces.get(first.id) is None
    assert pieces.get(read.id) is read
    assert len(pieces.all()) == 7


def test_what_is_cleared_is_gone_with_its_folder(pieces, tmp_path):
    work = pieces.begin(tmp_path / "own")
    work.folder.mkdir()
    pieces.clear(work)
    assert not work.folder.exists()
    assert pieces.get(work.id) is None
