"""Older diaries, in which one wearer may stand under two spellings, come over with nothing lost."""

import stat
from datetime import date

import pytest
from diary.conftest import old_diary
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary.reading import notes, tapes
from fitcheck.diary.store import Diary

COMPOSED, APART = "Zo\u00eb", "Zoe\u0308"  # the same on paper


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
