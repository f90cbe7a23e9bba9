"""Photos that the diary keeps are decoded apart from the page, and one that ends the decoder ends nothing else."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest
from diary.conftest import fit_check, new_fitting
from web.asked import Asked
from web.killing_decoder import DEADLY, DECODER

from fitcheck.core.diary import DiaryPhoto
from fitcheck.diary.reading import read_photos
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary
from fitcheck.web.bench import Bench
from fitcheck.web.place import Place


@pytest.fixture
def asked(tmp_path, monkeypatch):
    """A page whose readers have that decoder, and two rounds in its diary; the front photo of the second is deadly."""
    (tmp_path / "path").mkdir()
    (tmp_path / "path" / "sitecustomize.py").write_text(DECODER)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "path"))
    with Diary(tmp_path / "diary", create=True) as diary:
        for number in (1, 2):
            record(diary, new_fitting(fit_check(number), day=date(2026, 4, number)))
        spoilt = next(Path(photo.file) for photo in read_photos(diary, 2) if photo.view == "front")
    spoilt.write_bytes(spoilt.read_bytes() + DEADLY)
    with Place(tmp_path / "place") as place:
        bench = Bench(place)
        yield Asked(bench, tmp_path)
        bench.close()


def test_the_page_outlives_a_photo_that_ends_the_decoder(asked):
    assert asked.get("/diary/1/front.jpg").body.startswith(b"\xff\xd8")
    gone = asked.get("/diary/2/front.jpg")
    assert gone.status == 404
    assert "missing or damaged" in gone.text
    assert asked.get("/diary/2/right.jpg").body.startswith(b"\xff\xd8")


def test_two_rounds_are_compared_without_it(asked):
    page = asked.get("/compare/1/2")
    assert page.status == 200
    assert page.text.count("<img") == 3
    assert page.text.count('<div class="picture gone">') == 1


def test_it_ends_a_reader_only_once(asked):
    """Or every look at the home page would throw away what is held of her fittings."""
    bench = asked.house.bench
    with asked.house.diary() as diary:
        photos = {photo.view: photo for photo in read_photos(diary, 2)}
    assert bench.kept.read(photos["front"], 40) is None
    seen = len(ends := [])
    bench._readers._answer = lambda seat, ask: ends.append(seat) or ask()
    assert bench.kept.read(photos["front"], 40) is None
    assert len(ends) == seen
    assert bench.kept.read(photos["right"], 40) is not None
    assert len(ends) == seen + 1


def test_pixels_come_back_as_they_are_kept(asked):
    with asked.house.diary() as diary:
        right = next(photo for photo in read_photos(diary, 1) if photo.view == "right")
    rgb = asked.house.bench.kept.read(right, 80)
    assert rgb.shape == (80, 60, 3)
    assert np.abs(rgb[21:59, 21:39].astype(int) - 90).max() < 12  # the darker box that was drawn into it


@pytest.mark.parametrize("data", [b"", b"\xff\xd8\xff\xe0 cut off", b"<svg/>"])
def test_one_that_is_damaged_or_gone_is_none(asked, tmp_path, data):
    (tmp_path / "front.jpg").write_bytes(data)
    photo = DiaryPhoto("front", str(tmp_path / "front.jpg"), "copy", "", (60, 80))
    assert asked.house.bench.kept.read(photo, 80) is None
    (tmp_path / "front.jpg").unlink()
    assert asked.house.bench.kept.read(photo, 80) is None
