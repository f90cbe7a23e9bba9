"""Who and what the diary holds, and that nobody else can read it."""

import stat

import pytest
from diary.conftest import fit_check, new_fitting

from fitcheck.core.errors import DiaryError
from fitcheck.diary.recording import record


def test_the_diary_is_for_its_owner_only(diary):
    record(diary, new_fitting(fit_check()))
    files = [p for p in diary.folder.rglob("*") if p.is_file()]
    assert len(files) >= 3
    assert {stat.S_IMODE(p.stat().st_mode) for p in files} == {0o600}
    assert {stat.S_IMODE(p.stat().st_mode) for p in (diary.folder, *(p for p in diary.folder.rglob("*") if p.is_dir()))} == {0o700}


def test_names_do_not_care_for_capitals(diary):
    record(diary, new_fitting(fit_check(1), "Anna", "Bodice"))
    record(diary, new_fitting(fit_check(2), "ANNA", "bodice"))
    assert diary.wearers() == ["Anna"]
    assert {e.garment for e in diary.entries("anna")} == {"Bodice"}
    with pytest.raises(DiaryError, match="knows no wearer named Berta"):
        diary.wearer("Berta")
