"""What can still be read of a damaged diary."""

import shutil
import sqlite3
import stat

import pytest
from diary.conftest import fit_check, new_fitting, old_diary
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary.database import FILE_NAME
from fitcheck.diary.recording import add_note, record
from fitcheck.diary.rescue import rescue
from fitcheck.diary.store import Diary


@pytest.fixture
def moved(tmp_path):
    """A diary of 40 fittings whose database was moved out of its folder."""
    folder = tmp_path / "diary"
    with Diary(folder, create=True) as diary:
        for k in range(40):
            record(diary, new_fitting(fit_check(k), f"wearer {k % 2}"))
        add_note(diary, "keep me", wearer="wearer 1")
    return (folder / FILE_NAME).rename(tmp_path / "damaged.sqlite")


def test_a_whole_diary_comes_back_whole(moved, tmp_path):
    done = rescue(tmp_path / "diary", moved)
    assert (done.fittings, done.lost) == (40, 0)
    assert (done.copy / FILE_NAME).read_bytes() == moved.read_bytes()
    with Diary(tmp_path / "diary") as diary:
        assert check_whole(diary) == set(range(1, 41))
        assert diary.rows("SELECT text FROM note") == [("keep me",)]


def test_what_is_readable_of_a_damaged_one(moved, tmp_path):
    """Some pages overwritten: the fittings they held are lost, the others come back with number and photos."""
    data = bytearray(moved.read_bytes())
    pages = len(data) // 4096
    for page in range(pages // 2, pages, 9):
        data[4096 * page : 4096 * (page + 1)] = b"\xee" * 4096
    moved.write_bytes(data)
    done = rescue(tmp_path / "diary", moved)
    assert done.fittings >= 10
    assert done.fittings + done.lost <= 40
    with Diary(tmp_path / "diary") as diary:
        assert len(check_whole_rows(diary)) == done.fittings


def check_whole_rows(diary) -> set[int]:
    from fitcheck.diary.photos import read_photo
    from fitcheck.diary.reading import read_fitting

    numbers = {entry.number for entry in diary.entries()}
    for number in numbers:
        assert all(read_photo(photo, 80) is not None for photo in read_fitting(diary, number).photos)
    return numbers


def test_nothing_readable_and_a_diary_in_use(moved, tmp_path):
    folder = tmp_path / "diary"
    moved.write_bytes(b"nothing" * 1000)
    with pytest.raises(DiaryError, match="Nothing can be read"):
        rescue(folder, moved)
    assert not (folder / FILE_NAME).exists()
    with pytest.raises(DiaryError, match="There is no file"):
        rescue(folder, tmp_path / "absent")
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check()))
    with pytest.raises(DiaryError, match="not empty"):
        rescue(folder, moved)


def stopped_with_a_log(folder):
    """A diary whose last fitting is in the write-ahead log alone, as a program stopped at once leaves it."""
    with Diary(folder, create=True) as diary:
        record(diary, new_fitting(fit_check(1)))
    with Diary(folder) as diary:
        record(diary, new_fitting(fit_check(2)))
        parts = {part: (folder / f"{FILE_NAME}{part}").read_bytes() for part in ("", "-wal")}
    for part, data in parts.items():
        (folder / f"{FILE_NAME}{part}").write_bytes(data)
    with sqlite3.connect(f"{(folder / FILE_NAME).as_uri()}?immutable=1", uri=True) as raw:
        assert raw.execute("SELECT count(*) FROM fitting").fetchall() == [(1,)]
    raw.close()


def test_in_place_with_the_log(tmp_path):
    """What is in the log alone is rescued too; the copy holds every part as it was."""
    folder = tmp_path / "diary"
    stopped_with_a_log(folder)
    before = {part: (folder / f"{FILE_NAME}{part}").read_bytes() for part in ("", "-wal")}
    done = rescue(folder)
    assert (done.fittings, done.lost) == (2, 0)
    assert {part: (done.copy / f"{FILE_NAME}{part}").read_bytes() for part in ("", "-wal")} == before
    assert {stat.S_IMODE(path.stat().st_mode) for path in done.copy.iterdir()} == {0o600}
    with Diary(folder) as diary:
        assert check_whole(diary) == {1, 2}


def test_moved_while_its_log_stayed(tmp_path):
    """The file was moved elsewhere by hand and its log left behind: nothing empties the log, and the rescue finds it."""
    folder = tmp_path / "diary"
    stopped_with_a_log(folder)
    moved = (folder / FILE_NAME).rename(tmp_path / "old.sqlite")
    for create in (False, True):
        with pytest.raises(DiaryError, match=r"diary\.sqlite is gone .* diary\.sqlite-wal .* Move diary\.sqlite back"):
            Diary(folder, create=create)
    assert rescue(folder, moved).fittings == 2


def test_no_disk_space_and_sudden_stops_lose_nothing(tmp_path, monkeypatch):
    """Whatever step fails, the damaged file is either still there or its copy is."""
    folder = tmp_path / "diary"
    stopped_with_a_log(folder)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("fitcheck.diary.rescue.os.replace", fail)
    with pytest.raises(DiaryError, match="no room"):
        rescue(folder)
    monkeypatch.undo()
    (copy,) = folder.glob("damaged-*")
    assert sorted(path.name for path in copy.iterdir()) == [FILE_NAME, f"{FILE_NAME}-wal"]
    assert not (folder / "rescuing").exists()
    shutil.rmtree(folder / "damaged-1")


def test_spellings_of_one_wearer_come_together(tmp_path):
    """A damaged diary of before, with one wearer under two spellings."""
    path = old_diary(tmp_path / "diary", ("Zo\u00eb", "rock", 1), ("Zoe\u0308", "Rock", 1))
    done = rescue(path)
    assert done.fittings == 2
    with Diary(path) as diary:
        assert diary.wearers() == ["Zo\u00eb"]
        assert [entry.garment for entry in diary.entries()] == ["rock", "rock"]
