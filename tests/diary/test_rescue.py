"""What can still be read of a damaged diary."""

import pytest
from diary.conftest import fit_check, new_fitting
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
    with Diary(tmp_path / "diary", create=True) as diary:
        assert rescue(moved, diary) == (40, 0)
        assert check_whole(diary) == set(range(1, 41))
        assert diary.rows("SELECT text FROM note") == [("keep me",)]


def test_what_is_readable_of_a_damaged_one(moved, tmp_path):
    """Some pages overwritten: the fittings they held are lost, the others come back with number and photos."""
    data = bytearray(moved.read_bytes())
    pages = len(data) // 4096
    for page in range(pages // 2, pages, 9):
        data[4096 * page : 4096 * (page + 1)] = b"\xee" * 4096
    moved.write_bytes(data)
    with Diary(tmp_path / "diary", create=True) as diary:
        rescued, lost = rescue(moved, diary)
        assert rescued >= 10
        assert rescued + lost <= 40
        assert len(check_whole_rows(diary)) == rescued


def check_whole_rows(diary) -> set[int]:
    from fitcheck.diary.photos import read_photo
    from fitcheck.diary.reading import read_fitting

    numbers = {entry.number for entry in diary.entries()}
    for number in numbers:
        assert all(read_photo(photo, 80) is not None for photo in read_fitting(diary, number).photos)
    return numbers


def test_nothing_readable_and_a_diary_in_use(moved, tmp_path):
    moved.write_bytes(b"nothing" * 1000)
    with Diary(tmp_path / "diary", create=True) as diary:
        with pytest.raises(DiaryError, match="Nothing can be read"):
            rescue(moved, diary)
        with pytest.raises(DiaryError, match="There is no file"):
            rescue(tmp_path / "absent", diary)
        record(diary, new_fitting(fit_check()))
        with pytest.raises(DiaryError, match="not empty"):
            rescue(moved, diary)
