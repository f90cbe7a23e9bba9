"""A wearer in again, out of an archive, whole or not at all."""

from types import SimpleNamespace

import pytest
from diary.archives import crafted, import_wearer
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary.reading import notes, read_fitting, tapes
from fitcheck.diary.store import Diary


def test_out_and_in_again(diary, archive, tmp_path):
    with Diary(tmp_path / "other", create=True) as other:
        assert import_wearer(other, archive) == ("Anna", 2)
        assert len(check_whole(other)) == 2
        first = other.entries("Anna")[0].number
        before, after = read_fitting(diary, 1), read_fitting(other, first)
        assert after.posture == before.posture
        assert after.round == before.round
        assert [m.value for m in after.measurements] == [m.value for m in before.measurements]
        assert tapes(other, "Anna") == tapes(diary, "Anna")
        assert notes(other, "Anna") == notes(diary, "Anna")
        assert other.entry(first).notes == 1


def test_beside_herself_under_another_name(diary, archive):
    with pytest.raises(DiaryError, match=r"already knows Anna.*--as"):
        import_wearer(diary, archive)
    assert import_wearer(diary, archive, "Anna of 2026") == ("Anna of 2026", 2)
    check_whole(diary)


@pytest.mark.parametrize("name", ["", " \n", "x" * 201])
def test_no_name_of_hers(diary, archive, name):
    with pytest.raises(DiaryError, match="no name for a wearer"):
        import_wearer(diary, archive, name)


def test_under_a_name_of_another_case_she_is_known(diary, archive):
    with pytest.raises(DiaryError, match="already knows Anna"):
        import_wearer(diary, archive, "ANNA")


def test_no_room_for_her_photos(diary, archive, monkeypatch):
    monkeypatch.setattr("fitcheck.diary.importing.shutil.disk_usage", lambda _: SimpleNamespace(free=1000))
    with pytest.raises(DiaryError, match="no room for her photos"):
        import_wearer(diary, archive, "Clara")


def test_an_archive_of_before_with_two_spellings_of_a_garment(diary, archive):
    def older(rows):
        rows["garment"][1]["name"] = rows["garment"][0]["name"].upper()
        rows["fitting"][1]["fingerprint"] = rows["fitting"][0]["fingerprint"]

    crafted(archive, older)
    assert import_wearer(diary, archive, "Clara") == ("Clara", 2)
    assert {entry.garment for entry in diary.entries("Clara")} == {"bodice"}
