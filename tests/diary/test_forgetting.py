"""What is forgotten is gone: from rows, files and the database's empty pages."""

import pytest
from diary.conftest import fit_check, new_fitting

from fitcheck.core.errors import DiaryError
from fitcheck.diary.forgetting import copies_kept, delete_fitting, delete_wearer
from fitcheck.diary.recording import add_note, record


def test_deleting_a_wearer_leaves_nothing_of_her(diary):
    secret = "Wilhelmine"
    first = record(diary, new_fitting(fit_check(1, tape={"bust": 920}, placed=True), secret))
    record(diary, new_fitting(fit_check(2), secret, "skirt"))
    record(diary, new_fitting(fit_check(3), "Berta"))
    add_note(diary, "Wilhelmine likes it loose", fitting=first)
    removed = delete_wearer(diary, secret)
    assert removed == {
        "garments": 2,
        "fittings": 2,
        "photos copied": 4,
        "photos referenced": 0,
        "measurements": 2,
        "placed points": 2,
        "posture numbers": 2,
        "tape measurements": 1,
        "notes": 1,
        "states of pattern pieces": 0,
    }
    assert [e.wearer for e in diary.entries()] == ["Berta"]
    for table in ("garment", "fitting", "result", "measurement", "posture", "advised", "expected"):
        assert diary.rows(f"SELECT count(*) FROM {table}") == [(1,)], table
    assert len(list((diary.folder / "photos").iterdir())) == 1
    assert diary.rows("PRAGMA freelist_count") == [(0,)]
    for file in diary.folder.glob("diary.sqlite*"):
        assert secret.encode() not in file.read_bytes(), file


def test_deleting_one_fitting_keeps_the_others(diary):
    first, second = (record(diary, new_fitting(fit_check(k))) for k in (1, 2))
    assert delete_fitting(diary, first).number == first
    assert [e.number for e in diary.entries()] == [second]
    with pytest.raises(DiaryError, match="no fitting number"):
        delete_fitting(diary, first)
    assert record(diary, new_fitting(fit_check(3))) > second  # numbers are never used twice


def test_copies_of_a_damaged_diary_are_named(diary):
    """A rescue keeps them; they may hold what was to be forgotten."""
    assert copies_kept(diary.folder) == []
    for name in ("damaged-2", "damaged-1", "other"):
        (diary.folder / name).mkdir()
    assert [path.name for path in copies_kept(diary.folder)] == ["damaged-1", "damaged-2"]
