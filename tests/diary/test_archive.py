"""One wearer out and in again, and archives that are none."""

import json
import stat
import zipfile
from pathlib import Path

import pytest
from diary.conftest import fit_check, new_fitting
from diary.whole import check_whole

from fitcheck.core.errors import DiaryError
from fitcheck.diary import importing
from fitcheck.diary.archive import export_wearer
from fitcheck.diary.reading import notes, read_fitting, tapes
from fitcheck.diary.recording import add_note, record
from fitcheck.diary.store import Diary
from fitcheck.diary.unpacking import checked_archive


def import_wearer(diary: Diary, path: Path, name: str | None = None) -> tuple[str, int]:
    with checked_archive(path) as archive:
        return importing.import_wearer(diary, archive, name)


@pytest.fixture
def archive(diary, tmp_path):
    number = record(diary, new_fitting(fit_check(1, tape={"bust": 920}), "Anna"))
    record(diary, new_fitting(fit_check(2), "Anna", "coat"))
    record(diary, new_fitting(fit_check(3), "Berta"))
    add_note(diary, "loose", fitting=number)
    path = tmp_path / "anna.zip"
    assert export_wearer(diary, "anna", path) == {"fittings": 2, "photos": 4, "photos referenced": 0}
    return path


def rewritten(path, change):
    """The archive with its files changed by `change(name, data) -> data`."""
    with zipfile.ZipFile(path) as old:
        files = {name: change(name, old.read(name)) for name in old.namelist()}
    with zipfile.ZipFile(path, "w") as new:
        for name, data in files.items():
            new.writestr(name, data)
    return path


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


def test_the_archive_is_hers_alone_and_for_the_owner(archive):
    with zipfile.ZipFile(archive) as held:
        assert b"Berta" not in held.read("wearer.json")
        manifest = json.loads(held.read("manifest.json"))
        assert set(manifest["sha256"]) == {n for n in held.namelist() if n != "manifest.json"}
    assert stat.S_IMODE(archive.stat().st_mode) == 0o600


def test_beside_herself_under_another_name(diary, archive):
    with pytest.raises(DiaryError, match=r"already knows Anna.*--as"):
        import_wearer(diary, archive)
    assert import_wearer(diary, archive, "Anna of 2026") == ("Anna of 2026", 2)
    check_whole(diary)


def test_changed_newer_or_no_archive(diary, archive, tmp_path):
    (tmp_path / "text.zip").write_text("no zip")
    with pytest.raises(DiaryError, match="no whole archive"):
        import_wearer(diary, tmp_path / "text.zip")
    with pytest.raises(DiaryError, match="cannot be read"):
        import_wearer(diary, tmp_path / "absent.zip")
    rewritten(archive, lambda name, data: data + b" " if name == "wearer.json" else data)
    with pytest.raises(DiaryError, match=r"damaged: wearer\.json"):
        import_wearer(diary, archive, "Clara")
    rewritten(archive, lambda name, data: data.replace(b'"version": 1', b'"version": 2') if name == "manifest.json" else data)
    with pytest.raises(DiaryError, match="newer fitcheck"):
        import_wearer(diary, archive, "Clara")
    assert diary.wearers() == ["Anna", "Berta"]


def test_an_archive_cannot_write_elsewhere(diary, archive, tmp_path):
    """A photo name that climbs out of the diary is refused, manifest or not."""
    import hashlib

    with zipfile.ZipFile(archive) as held:
        rows = json.loads(held.read("wearer.json"))
    rows["photo"][0]["file"] = "../../../escaped.jpg"
    evil = json.dumps(rows).encode()
    good = hashlib.sha256(evil).hexdigest()

    def change(name, data):
        if name == "wearer.json":
            return evil
        if name == "manifest.json":
            manifest = json.loads(data)
            manifest["sha256"]["wearer.json"] = good
            return json.dumps(manifest).encode()
        return data

    rewritten(archive, change)
    with pytest.raises(DiaryError, match="no whole archive"):
        import_wearer(diary, archive, "Clara")
    assert not list(tmp_path.rglob("escaped.jpg"))


def test_a_missing_photo_is_said_at_export(diary, archive, tmp_path):
    number = diary.entries("Anna")[0].number
    Path(read_fitting(diary, number).photos[0].file).unlink()
    with pytest.raises(DiaryError, match="is missing from the diary"):
        export_wearer(diary, "Anna", tmp_path / "again.zip")
    assert not (tmp_path / "again.zip").exists()
    assert not list(tmp_path.glob(".fitcheck-*"))
