"""Archives that are none, are damaged, or were made to do harm: refused before anything of them is unpacked."""

import json
import os
import struct
import zipfile

import pytest
from diary.archives import crafted, import_wearer, rewritten

from fitcheck.core.errors import DiaryError


def test_changed_newer_or_no_archive(diary, archive, tmp_path):
    (tmp_path / "text.zip").write_text("no zip")
    with pytest.raises(DiaryError, match="no whole archive"):
        import_wearer(diary, tmp_path / "text.zip")
    with pytest.raises(DiaryError, match="cannot be read"):
        import_wearer(diary, tmp_path / "absent.zip")
    rewritten(archive, lambda name, data: data + b" " if name == "wearer.json" else data)
    with pytest.raises(DiaryError, match=r"damaged: wearer\.json"):
        import_wearer(diary, archive, "Clara")
    rewritten(archive, lambda name, data: data.replace(b'"version": 2', b'"version": 3') if name == "manifest.json" else data)
    with pytest.raises(DiaryError, match="newer fitcheck"):
        import_wearer(diary, archive, "Clara")
    assert diary.wearers() == ["Anna", "Berta"]


def test_an_archive_cannot_write_elsewhere(diary, archive, tmp_path):
    """A photo name that climbs out of the diary is refused, manifest or not."""
    crafted(archive, lambda rows: rows["photo"][0].update(file="../../../escaped.jpg"))
    with pytest.raises(DiaryError, match="no whole archive"):
        import_wearer(diary, archive, "Clara")
    assert not list(tmp_path.rglob("escaped.jpg"))


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
