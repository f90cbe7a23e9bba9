"""The page of two rounds: what a dressmaker reads on it, and that the photos are cut alike."""

import re
from base64 import b64decode
from dataclasses import replace
from datetime import date
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from fitcheck.core.advice import Amount, Expectation
from fitcheck.core.diary import Advised, DiaryPhoto, Entry, Fitting, Target
from fitcheck.core.records import Measurement, Sighting
from fitcheck.diary.compare import compare
from fitcheck.report.page.compare_page import compare_page

NAMES = {("square_sloping_shoulder", True): "square shoulder", ("square_sloping_shoulder", False): "sloping shoulder"}
POINTS = {("shoulder_point", "wearer_right"): (-160, 1360, 0), ("shoulder_point", "wearer_left"): (160, 1360, 0)} | {
    ("waist_front", None): (0, 1000, 90)
}


def measured(id: str, at: str, value: float) -> Measurement:
    return Measurement(id, at, "wearer_right", "front", value, "mm", 1.0, {"pixel": 1.0}, ())


def fitting(number: int, px_per_mm: float, values: dict[str, float], round_: tuple[Advised, ...] = ()) -> Fitting:
    """A front photo at its own scale, the shoulders at a third of its height."""
    size = round(900 * px_per_mm), round(1500 * px_per_mm)
    sightings = tuple(
        Sighting(name, side, "front", "marker", np.array([size[0] / 2 + px_per_mm * x, size[1] / 3 + px_per_mm * (1360 - y)]), 0.5)
        for (name, side), (x, y, _) in POINTS.items()
    )
    entry = Entry(number, "Anna", "bodice <1>", "", date(2026, 4, number), "tissue", False, 1, "")
    photo = DiaryPhoto("front", "front.jpg", "copy", "", size)
    items = tuple(measured("shoulder_seam_behind", at, value) for at, value in values.items())
    where = {key: np.array(xyz, float) for key, xyz in POINTS.items()}
    return Fitting(entry, (photo,), items, (), round_, (), (), sightings, (), where, "", ())


@pytest.fixture
def page() -> str:
    step = Advised(Amount("forward_shoulder", "both", 9.0, 1.0, 0.9), (Expectation("shoulder_seam_behind_tip_R", 10.0, 1.0),))
    before = fitting(1, 0.6, {"tip": 10.0, "neck": 0.5}, (step,))
    after = fitting(2, 0.5, {"tip": 0.5, "neck": 9.0}, (Advised(Amount("square_sloping_shoulder", "both", -6.0, 1.0, 0.9)),))
    targets = {f"shoulder_seam_behind_{at}_R": Target(0.0, 3.0, 1.0) for at in ("tip", "neck")}
    pictures = {
        (f.entry.number, "front"): np.full((f.photos[0].size_px[1], f.photos[0].size_px[0], 3), 120, np.uint8) for f in (before, after)
    }
    return compare_page(compare(before, after, targets, NAMES), pictures, targets, NAMES, "cm")


def test_what_became_of_each_stands_on_top_by_name(page):
    tally = re.findall(r'<li class="(\w+)"><b>(\d+)</b> ([^<]+)<span class="soft">([^<]+)', page)
    assert [(kind, count) for kind, count, _, _ in tally] == [("worse", "1"), ("solved", "1")]
    assert "neck" in tally[0][3]
    assert "tip" in tally[1][3]
    assert page.index("became worse") < page.index("Every measurement")


def test_before_foretold_after_and_whether_it_changed(page):
    lines = page.split('class="change"')[1:]
    assert len(lines) == 2
    solved = next(line for line in lines if "Shoulder seam at the tip" in line)
    for words in ("1.0\u00a0cm behind", "0.1\u00a0cm behind", "Changed (±\u00a00.3\u00a0cm), as foretold"):
        assert words in solved
    worse = next(line for line in lines if "Shoulder seam at the neck" in line)
    assert 'class="none"' in worse  # nothing was foretold of it


def test_the_next_round_is_called_by_its_direction(page):
    assert re.search(r"<strong>Sloping shoulder</strong>, both sides: 0\.6\u00a0cm", page)
    assert "bodice &lt;1&gt;" in page


def test_photos_show_the_same_part_each_at_its_own_pixels(page):
    before, after = (Image.open(BytesIO(b64decode(data))).size for data in re.findall(r"base64,([A-Za-z0-9+/=]+)", page))
    assert np.array(before) / 0.6 == pytest.approx(np.array(after) / 0.5, abs=3)  # mm


def test_same_scale_is_not_said_of_photos_that_are_not():
    """Too little of her was found in the second photo: both are shown whole, and the page says that they cannot be compared by eye."""
    before, after = fitting(1, 0.6, {"tip": 10.0}), fitting(2, 0.3, {"tip": 0.5})
    pictures = {(f.entry.number, "front"): np.full((*f.photos[0].size_px[::-1], 3), 120, np.uint8) for f in (before, after)}
    alike = compare_page(compare(before, after, {}, NAMES), pictures, {}, NAMES, "cm")
    assert "The same part of the body at the same scale." in alike
    assert "Not at one scale" not in alike
    lone = replace(after, sightings=after.sightings[:1])
    page = compare_page(compare(before, lone, {}, NAMES), pictures, {}, NAMES, "cm")
    assert "same scale" not in page
    assert "Not at one scale" in page
    sizes = [Image.open(BytesIO(b64decode(data))).size for data in re.findall(r"base64,([A-Za-z0-9+/=]+)", page)]
    assert sizes == [before.photos[0].size_px, after.photos[0].size_px]
    gone = compare_page(compare(before, lone, {}, NAMES), pictures | {(2, "front"): None}, {}, NAMES, "cm")
    assert "Not at one scale" not in gone
    assert "same scale" not in gone
