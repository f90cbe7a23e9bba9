"""One wearer is one name, whatever its capitals and however its accents are composed; older diaries come over with nothing lost."""

import stat
from datetime import date

import pytest
from diary.conftest import fit_check, new_fitting, old_diary
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary.database import open_database
from fitcheck.diary.forgetting import delete_wearer
from fitcheck.diary.names import folded, tidy
from fitcheck.diary.reading import notes, tapes
from fitcheck.diary.recording import add_note, add_tape, record
from fitcheck.diary.store import Diary

COMPOSED, APART = "Zo\u00eb", "Zoe\u0308"  # the same on paper


@pytest.mark.parametrize(
    ("one", "other"),
    [("Anna", "ANNA"), (COMPOSED, APART), ("\u00c4nne", "a\u0308NNE"), ("Stra\u00dfer", "STRASSER"), (" Anna  Maria", "Anna\nMaria ")],
)
def test_one_name(one, other):
    assert folded(one) == folded(other)


@pytest.mark.parametrize(("one", "other"), [("Anna", "Anne"), ("Zoe", COMPOSED), ("Anna Maria", "AnnaMaria")])
def test_two_names(one, other):
    assert folded(one) != folded(other)


def test_what_is_shown_is_composed_and_on_one_line():
    assert tidy(f" {APART}\t\x00 Maria\u2028") == f"{COMPOSED} Maria"
    assert tidy("\n\x00") == ""
    assert tidy("Andr\udce9") == "Andr\ufffd"


def test_fittings_notes_and_tape_of_one_wearer_whatever_she_is_called(diary):
    record(diary, new_fitting(fit_check(1), COMPOSED, "r\u00f6ckchen"))
    record(diary, new_fitting(fit_check(2), APART.upper(), "RO\u0308CKCHEN"))
    add_note(diary, "loose", wearer=APART)
    add_tape(diary, APART, "bust", 920)
    assert diary.wearers() == [COMPOSED]
    assert len(diary.entries(APART, "R\u00d6CKCHEN")) == 2
    assert {entry.garment for entry in diary.entries()} == {"r\u00f6ckchen"}
    assert [text for _, text in notes(diary, APART)] == ["loose"]
    assert [value for _, value, _ in tapes(diary, APART)] == [920]
    removed = delete_wearer(diary, APART)
    assert (removed["fittings"], removed["notes"], removed["tape measurements"]) == (2, 1, 1)
    assert diary.entries() == []


def test_an_old_diary_comes_over(tmp_path):
    """Two spellings, the same photos once under each, tape and notes under each: all is there, and it is said."""
    folder = old_diary(tmp_path / "diary", (COMPOSED, "rock", 1), (APART, "Rock", 1), (APART, "coat", 2), ("Berta", "rock", 3))
    raw = connection_of_old(folder)
    raw.execute("INSERT INTO tape SELECT id, '2026-04-02', 'bust', 920 FROM wearer WHERE name = ?", [COMPOSED])
    raw.execute("INSERT INTO tape SELECT id, '2026-04-02', 'bust', 930 FROM wearer WHERE name = ?", [APART])
    raw.execute("INSERT INTO tape SELECT id, '2026-04-02', 'waist', 700 FROM wearer WHERE name = ?", [APART])
    raw.execute("INSERT INTO note (wearer, fitting, day, text) SELECT id, 3, '2026-04-05', 'mine' FROM wearer WHERE name = ?", [APART])
    raw.execute("UPDATE garment SET maker = 'Atelier' WHERE name = 'Rock'")
    raw.close()
    with Diary(folder) as diary:
        assert diary.wearers() == [COMPOSED, "Berta"]
        assert [(e.number, e.garment, e.maker) for e in diary.entries(APART)] == [
            (1, "rock", "Atelier"),
            (2, "rock", "Atelier"),
            (3, "coat", ""),
        ]
        assert check_whole(diary) == {1, 2, 3, 4}
        assert tapes(diary, COMPOSED) == [("bust", 920, date(2026, 4, 2)), ("waist", 700, date(2026, 4, 2))]
        said = [text for _, text in notes(diary, COMPOSED)]
        assert "mine" in said
        assert any("bust 930 mm" in text for text in said)
        assert any("Fittings recorded under" in text and text.endswith(": 2, 3.") for text in said)
        news = diary.take_news()
        assert len(news) == 2
        assert "one wearer under two spellings" in news[0]
        assert "One garment" in news[1]
        assert diary.take_news() == []
    with Diary(folder) as diary:
        assert diary.take_news() == []
        with pytest.raises(DiaryError, match="knows no wearer"):
            diary.wearer("Zoe")


def connection_of_old(folder):
    """The database as it is, not brought up to date."""
    import sqlite3

    return sqlite3.connect(folder / "diary.sqlite", isolation_level=None)


def test_an_old_diary_without_doubles_says_nothing(tmp_path):
    folder = old_diary(tmp_path / "diary", ("Anna", "rock", 1), ("Berta", "rock", 1))
    with Diary(folder) as diary:
        assert diary.take_news() == []
        assert diary.wearers() == ["Anna", "Berta"]
    assert {stat.S_IMODE(path.stat().st_mode) for path in folder.rglob("*") if path.is_file()} == {0o600}


def test_a_second_step_is_made_once(tmp_path):
    folder = old_diary(tmp_path / "diary", ("Anna", "rock", 1))
    for _ in range(2):
        connection = open_database(folder, create=False)
        assert connection.execute("SELECT folded FROM wearer").fetchall() == [("anna",)]
        connection.close()
