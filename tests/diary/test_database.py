"""Real processes, sudden stops, full disks, damaged and newer databases: nothing recorded is lost, and the message says what to do."""

import contextlib
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from diary.conftest import fit_check, new_fitting
from diary.killing import killing
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary.database import FILE_NAME, open_database
from fitcheck.diary.recording import add_note, record
from fitcheck.diary.rescue import rescue
from fitcheck.diary.store import Diary

RIG = Path(__file__).with_name("rig_process.py")


def start(folder: Path, name: str, count: int, limit: int = 0) -> subprocess.Popen[str]:
    command = [sys.executable, str(RIG), str(folder), name, str(count), str(limit)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_settings_of_the_database(diary):
    assert diary.rows("PRAGMA journal_mode") == [("wal",)]
    assert diary.rows("PRAGMA foreign_keys") == [(1,)]
    assert diary.rows("PRAGMA synchronous") == [(2,)]
    assert diary.rows("PRAGMA secure_delete") == [(1,)]
    assert diary.rows("PRAGMA auto_vacuum") == [(2,)]


def test_two_programs_write_at_once(tmp_path):
    """Both make the same new diary, and neither loses a fitting to the other."""
    folder = tmp_path / "diary"
    running = [start(folder, name, 15) for name in ("a", "b")]
    done = [process.communicate(timeout=60) for process in running]
    assert [process.returncode for process in running] == [0, 0], done
    said = [int(line) for out, _ in done for line in out.split()]
    with Diary(folder) as diary:
        assert check_whole(diary) == set(said)
    assert len(said) == len(set(said)) == 30


def test_killed_at_any_moment(tmp_path):
    """Every fitting that was said to be recorded is there unless its deletion was asked for, none by half; a deleted one never comes back.

    The benchmark diary_kill.py does it 1000 times.
    """
    told = killing(tmp_path / "diary", kills=20, seed=7)
    assert not told.lost
    assert len(told.recorded) > 10
    assert told.deleted


def test_no_room_left(tmp_path):
    """The limit on file sizes stands for the full disk: what was recorded before stays, the sentence says what to do."""
    folder = tmp_path / "diary"
    with start(folder, "full", 500, 400_000) as process:
        out, err = process.communicate(timeout=60)
    assert process.returncode == 8
    assert "diary" in err
    assert "Traceback" not in err
    assert "Free some space" in err
    said = {int(line) for line in out.split()}
    assert said
    with Diary(folder) as diary:
        assert check_whole(diary) == said
        record(diary, new_fitting(fit_check("after")))  # and it goes on once there is room


def test_a_damaged_database(tmp_path):
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))
    path = folder / FILE_NAME
    path.write_bytes(b"no database at all" * 1000)
    before = path.read_bytes()
    with pytest.raises(DiaryError, match=r"is damaged .* rescue"):
        Diary(folder)
    with pytest.raises(DiaryError, match="is damaged"):
        Diary(folder, create=True)
    assert path.read_bytes() == before
    assert len(list((folder / "photos").iterdir())) == 1


def test_damage_inside_is_said_when_it_is_met(tmp_path):
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        for k in range(30):
            record(diary, new_fitting(fit_check(k)))
    path = folder / FILE_NAME
    data = bytearray(path.read_bytes())
    data[4096 * 3 :] = b"\xff" * (len(data) - 4096 * 3)
    path.write_bytes(data)

    def read_all():
        with Diary(folder) as diary:
            return [diary.rows("SELECT data FROM result WHERE fitting = ?", [diary.entry(number).number]) for number in range(1, 31)]

    with pytest.raises(DiaryError, match="is damaged"):
        read_all()


def test_a_newer_diary_is_left_alone(tmp_path):
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))
    with sqlite3.connect(folder / FILE_NAME) as raw:
        raw.execute("INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fitcheck', 'of_the_future', '')")
    raw.close()
    with pytest.raises(DiaryError, match=r"newer fitcheck.*Update fitcheck"):
        Diary(folder)


def test_another_program_holds_it(tmp_path, monkeypatch):
    folder = tmp_path / "diary"
    Diary(folder, create=True).close()
    monkeypatch.setattr("fitcheck.diary.database.PATIENCE_S", 0.1)
    raw = sqlite3.connect(folder / FILE_NAME, isolation_level=None)
    raw.execute("BEGIN IMMEDIATE")
    with Diary(folder) as diary, pytest.raises(DiaryError, match=r"Another program .* try again"):
        record(diary, new_fitting(fit_check()))
    raw.close()


def test_no_diary_and_no_folder(tmp_path):
    with pytest.raises(DiaryError, match="There is no diary"):
        open_database(tmp_path, create=False)
    (tmp_path / "file").write_text("")
    with pytest.raises(DiaryError, match="cannot be used"):
        open_database(tmp_path / "file" / "diary", create=True)


def test_readable_after_moving_the_folder(tmp_path):
    with Diary(tmp_path / "here", create=True) as diary:
        record(diary, new_fitting(fit_check()))
    shutil.move(tmp_path / "here", tmp_path / "there")
    with Diary(tmp_path / "there") as diary:
        assert check_whole(diary) == {1}


def test_damage_that_sqlite_cannot_even_name(tmp_path):
    """The name of a table is no text any more, and SQLite's own message about that cannot be decoded."""
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))
    path = folder / FILE_NAME
    data = path.read_bytes()
    assert b"CREATE TABLE wearer" in data
    path.write_bytes(data.replace(b"CREATE TABLE wearer", b"CREATE\x9aTABLE wearer"))
    with pytest.raises(DiaryError, match="is damaged"):
        Diary(folder)
    with pytest.raises(DiaryError, match="Nothing can be read"):
        rescue(folder)


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TRIGGER t AFTER INSERT ON note BEGIN DELETE FROM fitting; END",
        "CREATE VIEW v AS SELECT 1",
        "DROP TABLE leftover",
        "UPDATE fitting SET day = '2026-02-30'",
        "UPDATE fitting SET stage = x'ff'",
        "UPDATE wearer SET name = ''",
    ],
)
def test_what_no_fitcheck_wrote_is_damage(tmp_path, sql):
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))
    with sqlite3.connect(folder / FILE_NAME) as raw:
        raw.execute(sql)
    raw.close()

    def use():
        with Diary(folder) as diary:
            diary.entries()
            add_note(diary, "x", wearer="Anna")

    with pytest.raises(DiaryError, match="is damaged"):
        use()


@pytest.mark.parametrize("uid", ["../../elsewhere", ""])
def test_nothing_outside_the_diary_is_swept(tmp_path, uid):
    """A list of leftovers that names another folder, or the photos of a fitting that is there."""
    folder = tmp_path / "diary"
    (tmp_path / "elsewhere").mkdir()
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))
        diary.connection.execute("INSERT INTO leftover SELECT coalesce(nullif(?, ''), uid) FROM fitting", [uid])
        with contextlib.suppress(DiaryError), diary.writing():
            pass
    assert (tmp_path / "elsewhere").is_dir()
    assert len(list((folder / "photos").iterdir())) == 1
