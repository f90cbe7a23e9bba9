"""Steps of the tables: each is made once, whole or not at all."""

import sqlite3

import pytest
from diary.conftest import fit_check, new_fitting, old_diary
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary import migrations
from fitcheck.diary.contract import TABLES
from fitcheck.diary.database import open_database
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary


def test_a_second_step_is_made_once(tmp_path):
    folder = old_diary(tmp_path / "diary", ("Anna", "rock", 1))
    for _ in range(2):
        connection = open_database(folder, create=False)
        assert connection.execute("SELECT folded FROM wearer").fetchall() == [("anna",)]
        connection.close()


def test_a_broken_migration_changes_nothing(tmp_path, monkeypatch):
    """A later step that fails half way leaves the diary as it was, and is tried again next time."""
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))

    def second(db):
        db.execute("ALTER TABLE wearer ADD COLUMN shoe TEXT")
        db.execute("SELECT * FROM no_such_table")

    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, second))
    with pytest.raises(DiaryError):
        Diary(folder)
    monkeypatch.undo()
    with Diary(folder) as diary:
        assert check_whole(diary) == {1}
        assert "shoe" not in {row[1] for row in diary.rows("PRAGMA table_info(wearer)")}


def test_a_new_diary_has_been_through_every_step_and_holds_what_the_contract_names(tmp_path):
    with sqlite3.connect(":memory:") as raw:
        assert migrations.applied(raw) == set()
    raw.close()
    connection = open_database(tmp_path, create=True)
    assert migrations.applied(connection) == {"first_tables", "one_name", "own_pieces"}
    for table, columns in TABLES.items():
        assert columns.keys() <= {row[1] for row in connection.execute(f"PRAGMA table_info({table})")}, table
    connection.close()
