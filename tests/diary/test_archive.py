"""One wearer out and in again, and archives that are none."""

import hashlib
import json
import os
import stat
import struct
import zipfile
from pathlib import Path
from types import SimpleNamespace

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


def crafted(path, change, text=None):
    """The archive with its rows changed in place by `change`, and a manifest that agrees."""
    with zipfile.ZipFile(path) as held:
        rows = json.loads(held.read("wearer.json"))
    change(rows)
    data = text or json.dumps(rows).encode()

    def written(name, old):
        if name == "manifest.json":
            manifest = json.loads(old)
            manifest["sha256"]["wearer.json"] = hashlib.sha256(data).hexdigest()
            return json.dumps(manifest).encode()
        return data if name == "wearer.json" else old

    return rewritten(path, written)


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
    crafted(archive, lambda rows: rows["photo"][0].update(file="../../../escaped.jpg"))
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


def result_of(rows, **changes):
    rows["result"][0]["data"] = json.dumps(json.loads(rows["result"][0]["data"]) | changes)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda r: r.update(wearer=" \n"), "name of the wearer is missing"),
        (lambda r: r.update(wearer="A" * 300), "longer than 200"),
        (lambda r: r["garment"][0].update(name=""), "name of a garment is missing"),
        (lambda r: r["fitting"][0].update(day="2026-02-30"), "day of a fitting is no date"),
        (lambda r: r["fitting"][0].update(day="20260402"), "day of a fitting is no date"),
        (lambda r: r["fitting"][0].update(day="0001-01-01"), "day of a fitting is no date"),
        (lambda r: r["fitting"][0].update(uid="../../elsewhere"), "uid of a fitting"),
        (lambda r: r["fitting"][0].update(garment=99), "parts of fittings that are not in it"),
        (lambda r: r["fitting"][0].update(facts="[]"), "facts of a fitting"),
        (lambda r: r["fitting"].append(dict(r["fitting"][0])), "not numbered"),
        (lambda r: r["fitting"][0].update(shoe=1), "shoe of a fitting is not known"),
        (lambda r: r["fitting"][0].pop("day"), "day of a fitting is missing"),
        (lambda r: r["tape"][0].update(value_mm=float("nan")), "value of a tape is no number"),
        (lambda r: r["tape"][0].update(value_mm="x"), "value of a tape is no number"),
        (lambda r: r["measurement"][0].update(value=1e300), "value of a measurement is not between"),
        (lambda r: r["measurement"][0].update(fitting=77), "parts of fittings that are not in it"),
        (lambda r: r["posture"][0].update(unit="ell"), "unit of a posture"),
        (lambda r: r["advised"][0].update(alteration="{mm:5}"), "alteration of an advised"),
        (lambda r: r["photo"][0].update(width_px=50_000, height_px=50_000), "size of a photo is beyond"),
        (lambda r: r["note"][0].update(text=5), "text of a note is no text"),
        (lambda r: r.pop("result"), "rows of the kind result are missing"),
        (lambda r: r["result"].clear(), "result of a fitting is missing"),
        (lambda r: r["result"][0].update(data="{}"), "result of a fitting is none"),
        (lambda r: r["result"][0].update(data="[" * 100_000), "result of a fitting is none"),
        (lambda r: result_of(r, findings=[{"id": "x"}]), "result of a fitting is none"),
        (lambda r: result_of(r, look_again=[3]), "result of a fitting is none"),
    ],
)
def test_every_row_is_checked_like_a_new_one(diary, archive, change, says):
    crafted(archive, change)
    with pytest.raises(DiaryError, match=f"no whole archive.*{says}"):
        import_wearer(diary, archive, "Clara")
    assert diary.wearers() == ["Anna", "Berta"]
    assert len(list((diary.folder / "photos").iterdir())) == 3


SWOLLEN = b"{" + b'"":0,' * 3_000_000


@pytest.mark.parametrize(
    "text",
    [
        b"[" * 200_000,
        b'{"a":' * 100_000,
        b"[]",
        b"1" * 5000,
        b'{"x": "\xff"}',
        b'{"wearer": ' + b"1" * 5000 + b"}",
        b"{" + b'"":0,' * 3_000_000,
    ],
)
def test_deep_broken_and_swollen_json(diary, archive, text):
    crafted(archive, lambda rows: None, text)
    with pytest.raises(DiaryError, match="no whole archive"):
        import_wearer(diary, archive, "Clara")


def test_locked_with_a_password(diary, archive):
    data = bytearray(archive.read_bytes())
    for mark, at in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        place = data.find(mark)
        while place >= 0:
            data[place + at] |= 1
            place = data.find(mark, place + 1)
    archive.write_bytes(data)
    with pytest.raises(DiaryError, match="locked with a password"):
        import_wearer(diary, archive, "Clara")


def test_bombs_are_refused_before_they_are_unpacked(diary, archive, tmp_path, monkeypatch):
    """A small zip that would fill the disk; and one whose list lies about how much comes out."""
    opened = []
    whole = zipfile.ZipFile.open
    monkeypatch.setattr(zipfile.ZipFile, "open", lambda self, *args, **how: (opened.append(args), whole(self, *args, **how))[1])
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("manifest.json", b" " * 5_000_000)
        bomb.writestr("wearer.json", b" " * 50_000_000)
    opened.clear()
    with pytest.raises(DiaryError, match="unpack to far more"):
        import_wearer(diary, tmp_path / "bomb.zip", "Clara")
    assert not opened
    data = bytearray((tmp_path / "bomb.zip").read_bytes())
    for mark, at in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        place = data.find(mark)
        while place >= 0:
            data[place + at : place + at + 4] = struct.pack("<I", 1000)
            place = data.find(mark, place + 1)
    (tmp_path / "bomb.zip").write_bytes(data)
    with pytest.raises(DiaryError, match="no whole archive"):
        import_wearer(diary, tmp_path / "bomb.zip", "Clara")
    with zipfile.ZipFile(tmp_path / "many.zip", "w") as many:
        for k in range(50_001):
            many.writestr(f"{k}", b"")
    with pytest.raises(DiaryError, match="too large"):
        import_wearer(diary, tmp_path / "many.zip", "Clara")


def test_other_packings_doubles_and_strangers(diary, archive, tmp_path):
    for packing in (zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA):
        with zipfile.ZipFile(archive) as old, zipfile.ZipFile(tmp_path / "other.zip", "w", packing) as new:
            for name in old.namelist():
                new.writestr(name, old.read(name))
        with pytest.raises(DiaryError, match="packed in a way"):
            import_wearer(diary, tmp_path / "other.zip", "Clara")
    with zipfile.ZipFile(archive, "a") as held:
        held.writestr("stranger.txt", "x")
    with pytest.raises(DiaryError, match="does not hold the files that its manifest names"):
        import_wearer(diary, archive, "Clara")
    with zipfile.ZipFile(archive, "a") as held, pytest.warns(UserWarning, match="Duplicate"):
        held.writestr("stranger.txt", "y")
    with pytest.raises(DiaryError, match="two files of one name"):
        import_wearer(diary, archive, "Clara")


def test_a_pipe_or_a_folder_is_no_archive(diary, tmp_path):
    os.mkfifo(tmp_path / "pipe.zip")
    for path in (tmp_path / "pipe.zip", tmp_path):
        with pytest.raises(DiaryError, match="cannot be read"):
            import_wearer(diary, path)


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


def test_an_archive_of_before_with_two_spellings_of_a_garment(diary, archive):
    def older(rows):
        rows["garment"][1]["name"] = rows["garment"][0]["name"].upper()
        rows["fitting"][1]["fingerprint"] = rows["fitting"][0]["fingerprint"]

    crafted(archive, older)
    assert import_wearer(diary, archive, "Clara") == ("Clara", 2)
    assert {entry.garment for entry in diary.entries("Clara")} == {"bodice"}
