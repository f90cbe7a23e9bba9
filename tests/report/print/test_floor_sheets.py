"""The sheets for the floor, rasterised by another program and measured there."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from pypdf import PdfReader

from fitcheck.core.floor_sheet import FLOOR_IDS, TOE_STRIP_MM
from fitcheck.report.print.card import write_card

from .test_card import PX_PER_MM, markers_on, pages_of

SHEET_PAGES = {"left": 1, "right": 2}
STRIPS_PAGE = 3


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[np.ndarray]]:
    path = tmp_path_factory.mktemp("floor") / "card.pdf"
    write_card(path, request.param)
    return path, pages_of(path)


@pytest.mark.parametrize("which", ["left", "right"])
def test_squares_are_at_exact_size_and_place(printed, which):
    page = printed[1][SHEET_PAGES[which]]
    assert page.shape[1] > page.shape[0]  # lying
    found = markers_on(page)
    assert sorted(found) == list(FLOOR_IDS[which])
    first = found[FLOOR_IDS[which][0]]
    for k, number in enumerate(FLOOR_IDS[which]):
        corners = found[number]
        assert np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1) == pytest.approx(80.0, abs=0.1)
        assert corners.mean(0) == pytest.approx(first.mean(0) + 92.0 * np.array([k % 3, k // 3]), abs=0.05)
        assert corners.min() > 7  # white around, and what printers leave


@pytest.mark.parametrize("which", ["left", "right"])
def test_the_long_bar_is_254_mm_from_tick_to_tick_and_keeps_its_distance(printed, which):
    page = printed[1][SHEET_PAGES[which]]
    lowest_mm = max(corners[:, 1].max() for corners in markers_on(page).values())
    below = page[int((lowest_mm + 0.5) * PX_PER_MM) :] < 160
    ink = np.flatnonzero(below.any(axis=0))
    assert (ink[-1] - ink[0]) / PX_PER_MM == pytest.approx(254.0, abs=0.3)
    assert np.flatnonzero(below.any(axis=1))[0] / PX_PER_MM > 7  # white, which the detector needs below a square
    assert np.flatnonzero(below.any(axis=1))[-1] / PX_PER_MM + lowest_mm < page.shape[0] / PX_PER_MM - 4


def test_each_sheet_says_which_it_is_and_where_its_arrow_points(printed):
    pages = PdfReader(printed[0]).pages
    for which, page in SHEET_PAGES.items():
        text = pages[page].extract_text()
        assert f"{which.upper()} in the picture" in text
        assert "to the camera" in text
        assert "25.4 cm = 10 in" in text


def test_toe_strips_are_as_long_as_ankle_to_toe(printed):
    """Four strips, the bar of each 190 mm from its tail."""
    page = printed[1][STRIPS_PAGE]
    dark = (page < 60).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(dark)
    bars = [s for s in stats[1:] if s[cv2.CC_STAT_HEIGHT] > 30 * PX_PER_MM and s[cv2.CC_STAT_WIDTH] < 10 * PX_PER_MM]
    assert len(bars) == 4
    tail = np.flatnonzero((page[int(30 * PX_PER_MM) :] < 200).any(axis=0))[0]
    for bar in bars:
        assert (bar[cv2.CC_STAT_LEFT] + bar[cv2.CC_STAT_WIDTH] - tail) / PX_PER_MM == pytest.approx(TOE_STRIP_MM, abs=0.8)
    text = PdfReader(printed[0]).pages[STRIPS_PAGE].extract_text()
    for said in ("FRONT", "RIGHT", "BACK", "LEFT", "Tape each one down"):
        assert said in text
