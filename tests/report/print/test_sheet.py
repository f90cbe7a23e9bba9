"""Printed pattern drawings: true to size, tiled so that neighbours overlap, replaced only when whole."""

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from reportlab import rl_config

from fitcheck.core.drawing import PatternSheet, PatternStroke, SewnSeam
from fitcheck.core.errors import OutputError
from fitcheck.report.print.sheet import EDGE_MM, OVERLAP_MM, Below, tiles, write_sheet

SQUARE = PatternStroke("after", np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 400.0], [0.0, 400.0], [0.0, 0.0]]))
SHEET = PatternSheet((SQUARE,), (("front", 10.0, 20.0),), 300.0, 400.0)
POINT_MM = 25.4 / 72


@pytest.fixture(autouse=True)
def _readable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rl_config, "pageCompression", 0)


def moves(pdf: bytes) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(rb"(-?[\d.]+) (-?[\d.]+) [ml]\b", pdf)]


def test_tiles_cover_the_whole_with_overlaps() -> None:
    for paper, (width, height) in {"a4": (210, 297), "letter": (215.9, 279.4)}.items():
        columns, rows = tiles(SHEET, paper)
        usable = width - 2 * EDGE_MM, height - 2 * EDGE_MM - 28
        assert columns * usable[0] - (columns - 1) * OVERLAP_MM >= SHEET.width
        assert (columns - 1) * usable[0] - (columns - 2) * OVERLAP_MM < SHEET.width
        assert rows * usable[1] - (rows - 1) * OVERLAP_MM >= SHEET.height


def test_full_size_is_full_size(tmp_path: Path) -> None:
    assert write_sheet(tmp_path / "s.pdf", SHEET, "square", "a4", full_size=True) == 1
    pdf = (tmp_path / "s.pdf").read_bytes()
    assert pdf.count(b"/Type /Page\n") == np.prod(tiles(SHEET, "a4")) + 1
    drawn = moves(pdf)
    longest = max(abs(a[0] - b[0]) for a, b in pairwise(drawn) if a[1] == b[1])
    assert longest * POINT_MM == pytest.approx(300, abs=0.05)
    bars = [abs(a[0] - b[0]) * POINT_MM for a, b in pairwise(drawn) if a[1] == b[1]]
    assert any(bar == pytest.approx(100, abs=0.05) for bar in bars)


def test_the_first_page_has_a_test_square_and_every_cross_its_name_on_each_page_that_shares_it(tmp_path: Path) -> None:
    write_sheet(tmp_path / "s.pdf", SHEET, "square", "a4", full_size=True)
    pdf = (tmp_path / "s.pdf").read_bytes()
    sides = [(float(a) * POINT_MM, float(b) * POINT_MM) for a, b in re.findall(rb"([\d.]+) ([\d.]+) re\b", pdf)]
    assert any(side == pytest.approx((50, 50), abs=0.05) for side in sides)
    columns, rows = tiles(SHEET, "a4")
    assert (columns, rows) == (2, 2)
    crosses = {name: pdf.count(b"(%s) Tj" % name.encode()) for name in ("A1", "A2", "A3", "B1", "B2", "B3", "C2")}
    assert crosses == {"A1": 1, "A2": 2, "A3": 1, "B1": 2, "B2": 4, "B3": 2, "C2": 2}


def test_empty_pages_are_left_out(tmp_path: Path) -> None:
    lone = PatternSheet((PatternStroke("after", np.array([[5.0, 5.0], [50.0, 50.0]])),), (), 300.0, 400.0)
    write_sheet(tmp_path / "s.pdf", lone, "lone", full_size=True)
    assert (tmp_path / "s.pdf").read_bytes().count(b"/Type /Page\n") == 2


def test_crosses_of_one_name_lie_at_one_place_of_the_pattern(tmp_path: Path) -> None:
    write_sheet(tmp_path / "s.pdf", SHEET, "square", "letter", full_size=True)
    pages = (tmp_path / "s.pdf").read_bytes().split(b"stream\n")
    width, height = 215.9 - 2 * EDGE_MM - OVERLAP_MM, 279.4 - 2 * EDGE_MM - 28 - OVERLAP_MM
    places: dict[bytes, list[tuple[float, float]]] = {}
    for page in pages:
        where = re.search(rb"row (\d) of \d, page (\d) of", page)
        if where:
            row, column = int(where[1]) - 1, int(where[2]) - 1
            for x, y, name in re.findall(rb"1 0 0 1 ([\d.]+) ([\d.]+) Tm \(([A-Z]\d)\)", page):
                places.setdefault(name, []).append((float(x) * POINT_MM + column * width, float(y) * POINT_MM - row * height))
    assert len(places[b"B2"]) == 4
    for found in places.values():
        assert np.ptp(np.array(found), axis=0) == pytest.approx([0, 0], abs=0.02)


def test_amounts_and_seams_are_written_in_the_units_asked_for(tmp_path: Path) -> None:
    sheet = PatternSheet((SQUARE,), (("front", 10.0, 20.0),), 300.0, 400.0, (("{mm:12.7}", 50.0, 50.0),))
    seam = SewnSeam("back side / front side", 200.0, 212.7, 200.0, 212.7)
    write_sheet(tmp_path / "s.pdf", sheet, "square", below=Below(seams=[seam]), units="in")
    pdf = (tmp_path / "s.pdf").read_bytes()
    assert b"(1/2 in) Tj" in pdf
    assert b"(back side / front side: 7 7/8 in before, 8 3/8 in after) Tj" in pdf


def test_small_takes_the_largest_scale_that_fits(tmp_path: Path) -> None:
    scale = write_sheet(tmp_path / "s.pdf", SHEET, "square")
    assert scale == 2
    drawn = moves((tmp_path / "s.pdf").read_bytes())
    longest = max(abs(a[0] - b[0]) for a, b in pairwise(drawn) if a[1] == b[1])
    assert longest * POINT_MM == pytest.approx(150, abs=0.05)


def test_a_small_drawing_stands_in_the_middle_of_the_page(tmp_path: Path) -> None:
    """150 mm wide on paper of 210: 30 are left on either side."""
    write_sheet(tmp_path / "s.pdf", SHEET, "square")
    across = [(a[0], b[0]) for a, b in pairwise(moves((tmp_path / "s.pdf").read_bytes())) if a[1] == b[1]]
    left, right = max((sorted(ends) for ends in across), key=lambda ends: ends[1] - ends[0])
    assert left * POINT_MM == pytest.approx(30, abs=0.05)
    assert right * POINT_MM == pytest.approx(180, abs=0.05)


def test_an_unwritable_place_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_sheet(tmp_path / "none" / "s.pdf", SHEET, "square")
    assert not list(tmp_path.iterdir())


def test_steps_stand_below_the_drawing_and_every_page_says_that_it_is_schematic(tmp_path: Path) -> None:
    steps = ["Front: cut from the hem to the bust point and on to the armhole, leaving a hinge there, and open it. " * 2, "Level the hem."]
    for full_size in (False, True):
        write_sheet(tmp_path / "s.pdf", SHEET, "square", full_size=full_size, below=Below(steps))
        pdf = (tmp_path / "s.pdf").read_bytes()
        written = re.findall(rb"\((.*?)\) Tj", pdf)
        assert any(line.startswith(b"1. Front: cut") for line in written)
        assert b"2. Level the hem." in written
        assert all(len(line) < 160 for line in written)
        assert written.count(b"Schematic: do not cut") == pdf.count(b"/Type /Page\n")
