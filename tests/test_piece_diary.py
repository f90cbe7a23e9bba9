"""Pattern pieces in the diary, and the next round done on them."""

import json
from datetime import date

import pytest
from diary.archives import crafted, import_wearer
from diary.conftest import fit_check, new_fitting, old_diary, step
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice
from typer.testing import CliRunner

from fitcheck.cli import app
from fitcheck.core.errors import DiaryError
from fitcheck.diary.archive import export_wearer
from fitcheck.diary.forgetting import delete_fitting, delete_wearer
from fitcheck.diary.reading import pieces
from fitcheck.diary.recording import add_pieces, record
from fitcheck.diary.rescue import rescue
from fitcheck.diary.store import Diary
from fitcheck.piece.piece_file import kept_piece, piece_text, write_piece
from fitcheck.piece_diary import PieceDiary, kept_pieces

FRONT, BACK = (as_read(bodice(name, 1.0, 15.0, True, name == "front")) for name in ("front", "back"))


@pytest.fixture
def place(tmp_path):
    """A diary with one fitting of Anna's bodice, whose round moves the shoulder seam forward by 10 mm."""
    with Diary(tmp_path / "diary", create=True) as diary:
        record(diary, new_fitting(fit_check(1, steps=(step(10.0),), tape={"bust": 920.0}), day=date(2026, 4, 1)))
    return PieceDiary(tmp_path / "diary", "Anna", "bodice")


def fitcheck(tmp_path, *words):
    return CliRunner().invoke(
        app,
        ["piece", *words, "--diary", str(tmp_path / "diary"), "--wearer", "Anna", "--garment", "bodice", "--out", str(tmp_path / "out")],
    )


def states(place):
    with Diary(place.folder) as diary:
        return [(name, fitting, kept_piece(data).done) for name, fitting, data in pieces(diary, place.wearer, place.garment)]


def test_the_next_round_starts_from_the_altered_piece(place, tmp_path):
    write_piece(tmp_path / "piece.toml", FRONT)
    told = fitcheck(tmp_path, str(tmp_path / "piece.toml"))
    assert told.exit_code == 0, told.output
    once = (("forward_shoulder", 10.0),)
    assert states(place) == [("front", None, ()), ("front", 1, once)]
    assert (tmp_path / "out" / "front_altered.pdf").exists()
    again = fitcheck(tmp_path)
    assert "The round of fitting 1 is in this piece already" in again.output
    assert len(states(place)) == 2
    with Diary(place.folder) as diary:
        record(diary, new_fitting(fit_check(2, steps=(step(7.5, id="full_small_bust"),)), day=date(2026, 5, 1)))
    told = fitcheck(tmp_path, "--json")
    assert told.exit_code == 0, told.output
    assert json.loads(told.stdout)["pieces"][0]["done"] == [["forward_shoulder", 10.0], ["full_small_bust", 7.5]]
    assert states(place)[-1] == ("front", 2, (*once, ("full_small_bust", 7.5)))


def test_a_piece_that_comes_later_goes_through_the_round_too_and_the_other_not_twice(place, tmp_path):
    for piece in (FRONT, BACK):
        write_piece(tmp_path / "piece.toml", piece)
        told = fitcheck(tmp_path, str(tmp_path / "piece.toml"), "--name", piece.name)
        assert told.exit_code == 0, told.output
    assert [(name, fitting, len(done)) for name, fitting, done in states(place)] == [
        ("front", None, 0),
        ("front", 1, 1),
        ("back", None, 0),
        ("back", 1, 1),
    ]
    assert "back shoulder / front shoulder" in told.output
    assert "bust: paper" in told.output
    assert "tape 92.0 cm" in told.output  # out of the fitting


def test_what_is_missing_is_a_sentence_and_nothing_is_left_behind(place, tmp_path):
    for words, says in (((), 'The diary holds no piece "front"'), ((str(tmp_path / "none.jpg"),), "none.jpg")):
        told = fitcheck(tmp_path, *words)
        assert told.exit_code in (2, 3)
        assert says in told.output
        assert not (tmp_path / "out").exists()
    assert states(place) == []
    bare = CliRunner().invoke(app, ["piece", "--out", str(tmp_path / "out")])
    assert (bare.exit_code, "No photo of a piece is given" in bare.output) == (2, True)
    nobody = CliRunner().invoke(app, ["piece", "--diary", str(tmp_path / "diary")])
    assert (nobody.exit_code, "whose fitting and which garment" in nobody.output) == (2, True)


def test_an_alteration_that_cannot_be_done_loses_nothing(place, tmp_path):
    write_piece(tmp_path / "piece.toml", FRONT)
    assert fitcheck(tmp_path, str(tmp_path / "piece.toml"), "--alter", "no_such=10").exit_code == 2
    assert states(place) == [("front", None, ())]


def test_pieces_go_out_and_in_again_with_her_and_are_forgotten_with_her(place, tmp_path):
    place.keep([FRONT], None)
    place.keep([FRONT, BACK], 1)
    with Diary(place.folder) as diary, Diary(tmp_path / "other", create=True) as other:
        record(other, new_fitting(fit_check(9), "Berta"))  # so that numbers differ
        export_wearer(diary, "Anna", tmp_path / "hers.zip")
        import_wearer(other, tmp_path / "hers.zip")
        assert [row[::2] for row in pieces(other, "Anna", "bodice")] == [row[::2] for row in pieces(diary, "Anna", "bodice")]
        assert [row[1] for row in pieces(other, "Anna", "bodice")] == [None, 2, 2]
        removed = delete_wearer(diary, "Anna")
        assert removed["states of pattern pieces"] == 3
        assert diary.rows("SELECT count(*) FROM piece") == [(0,)]
    assert b"alteration" not in (place.folder / "diary.sqlite").read_bytes().split(b"CREATE")[0]
    assert b"[[edge]]" not in (place.folder / "diary.sqlite").read_bytes()


def test_a_fitting_goes_its_pieces_stay(place):
    place.keep([FRONT], 1)
    with Diary(place.folder) as diary:
        delete_fitting(diary, 1)
        assert [row[:2] for row in pieces(diary, "Anna", "bodice")] == [("front", None)]
    assert kept_pieces(place, "front", by_hand=False).piece is not None


def test_what_a_stranger_writes_into_a_piece_is_refused(place, tmp_path):
    place.keep([FRONT], 1)
    with Diary(place.folder) as diary:
        export_wearer(diary, "Anna", tmp_path / "hers.zip")
    for column, value in (
        ("data", "name = 1"),
        ("data", "[" * 5000),
        ("data", "x" * 500_000),
        ("garment", 99),
        ("fitting", 99),
        ("name", ""),
    ):
        path = tmp_path / "changed.zip"
        path.write_bytes((tmp_path / "hers.zip").read_bytes())
        crafted(path, lambda rows, c=column, v=value: rows["piece"][0].update({c: v}))
        with Diary(tmp_path / "other", create=True) as other:
            with pytest.raises(DiaryError, match="no whole archive"):
                import_wearer(other, path)
            assert other.wearers() == []


def test_an_archive_of_the_first_version_comes_in_without_pieces(place, tmp_path):
    from diary.archives import rewritten

    with Diary(place.folder) as diary:
        export_wearer(diary, "Anna", tmp_path / "hers.zip")
    crafted(tmp_path / "hers.zip", lambda rows: rows.pop("piece"))
    with Diary(tmp_path / "other", create=True) as other:
        with pytest.raises(DiaryError, match="rows of the kind piece are missing"):
            import_wearer(other, tmp_path / "hers.zip")
        rewritten(
            tmp_path / "hers.zip", lambda name, data: data.replace(b'"version": 2', b'"version": 1') if name == "manifest.json" else data
        )
        assert import_wearer(other, tmp_path / "hers.zip") == ("Anna", 1)


def test_an_old_diary_gets_its_table_and_keeps_its_fittings(tmp_path):
    folder = old_diary(tmp_path / "diary", ("Anna", "bodice", 1))
    with Diary(folder) as diary:
        assert len(diary.entries("Anna")) == 1
        add_pieces(diary, "anna", "Bodice", {"front": piece_text(FRONT)}, 1)
        assert [row[:2] for row in pieces(diary, "Anna", "bodice")] == [("front", 1)]


def test_pieces_are_rescued_out_of_a_damaged_diary(place):
    place.keep([FRONT, BACK], 1)
    with Diary(place.folder) as diary:
        diary.connection.execute("DROP TABLE tape")
        diary.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    rescue(place.folder)
    assert [row[:2] for row in states(place)] == [("front", 1), ("back", 1)]
