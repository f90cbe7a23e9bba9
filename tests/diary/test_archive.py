"""One wearer out into an archive: all of hers, nobody else's, and no path of this machine."""

import json
import stat
import zipfile
from pathlib import Path

import pytest
from diary.archives import crafted, import_wearer
from diary.conftest import fit_check, new_fitting

from fitcheck.core.errors import DiaryError
from fitcheck.diary.archive import export_wearer
from fitcheck.diary.reading import read_fitting
from fitcheck.diary.recording import record


def test_the_archive_is_hers_alone_and_for_the_owner(archive):
    with zipfile.ZipFile(archive) as held:
        assert b"Berta" not in held.read("wearer.json")
        manifest = json.loads(held.read("manifest.json"))
        assert set(manifest["sha256"]) == {n for n in held.namelist() if n != "manifest.json"}
    assert stat.S_IMODE(archive.stat().st_mode) == 0o600


def test_a_missing_photo_is_said_at_export(diary, archive, tmp_path):
    number = diary.entries("Anna")[0].number
    Path(read_fitting(diary, number).photos[0].file).unlink()
    with pytest.raises(DiaryError, match="is missing from the diary"):
        export_wearer(diary, "Anna", tmp_path / "again.zip")
    assert not (tmp_path / "again.zip").exists()
    assert not list(tmp_path.glob(".fitcheck-*"))


def test_referenced_photos_leave_no_path_of_this_machine(diary, tmp_path):
    """Neither out of the archive nor into another diary."""
    secret = tmp_path / "private place"
    sources = {view: secret / f"{view}.jpg" for view in ("front", "right")}
    record(diary, new_fitting(fit_check(9), "Doro", sources=sources, keep="reference"))
    path = tmp_path / "doro.zip"
    assert export_wearer(diary, "Doro", path) == {"fittings": 1, "photos": 0, "photos referenced": 2}
    with zipfile.ZipFile(path) as held:
        assert held.namelist() == ["wearer.json", "manifest.json"]
        assert all(b"private place" not in held.read(name) and str(tmp_path).encode() not in held.read(name) for name in held.namelist())
        assert json.loads(held.read("manifest.json"))["photos_not_included"] == 2
    crafted(path, lambda rows: rows["photo"][0].update(file="/dev/zero"))
    assert import_wearer(diary, path, "Doro there") == ("Doro there", 1)
    assert {photo.file for photo in read_fitting(diary, diary.entries("Doro there")[0].number).photos} == {""}
