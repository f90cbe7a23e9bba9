"""Printed pattern drawings: true to size, tiled so that neighbours overlap, replaced only when whole."""

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from reportlab import rl_config

from fitcheck.core.errors import OutputError
from fitcheck.core.records import PatternSheet, PatternStroke
from fitcheck.report.sheet import EDGE_MM, OVERLAP_MM, tiles, write_sheet

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
    assert pdf.count(b"/Type /Page\n") == np.prod(tiles(SHEET, "a4"))
    drawn = moves(pdf)
    longest = max(abs(a[0] - b[0]) for a, b in pairwise(drawn) if a[1] == b[1])
    assert longest * POINT_MM == pytest.approx(300, abs=0.05)
    bars = [abs(a[0] - b[0]) * POINT_MM for a, b in pairwise(drawn) if a[1] == b[1]]
    assert any(bar == pytest.approx(100, abs=0.05) for bar in bars)


def test_small_takes_the_largest_scale_that_fits(tmp_path: Path) -> None:
    scale = write_sheet(tmp_path / "s.pdf", SHEET, "square")
    assert scale == 2
    drawn = moves((tmp_path / "s.pdf").read_bytes())
    longest = max(abs(a[0] - b[0]) for a, b in pairwise(drawn) if a[1] == b[1])
    assert longest * POINT_MM == pytest.approx(150, abs=0.05)


def test_an_unwritable_place_is_told(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_sheet(tmp_path / "none" / "s.pdf", SHEET, "square")
    assert not list(tmp_path.iterdir())
