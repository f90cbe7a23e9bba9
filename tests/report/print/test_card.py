"""The printables, rasterised by another program and measured there."""

import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from pypdf import PdfReader

from fitcheck.core.errors import OutputError
from fitcheck.core.points import MARKED_POINTS
from fitcheck.report.print.card import Paper, write_card

DPI = 254  # 10 pixels a millimetre
PX_PER_MM = DPI / 25.4


def pages_of(pdf: Path) -> list[np.ndarray]:
    subprocess.run(["pdftoppm", "-r", str(DPI), "-gray", str(pdf), str(pdf.with_suffix(""))], check=True)
    return [cv2.imread(str(page), cv2.IMREAD_GRAYSCALE) for page in sorted(pdf.parent.glob(f"{pdf.stem}-*.pgm"))]


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Paper, Path, list[np.ndarray]]:
    path = tmp_path_factory.mktemp("card") / "card.pdf"
    write_card(path, request.param)
    return request.param, path, pages_of(path)


def markers_on(page: np.ndarray) -> dict[int, np.ndarray]:
    """Corners in mm from the page's top left, in ArUco order."""
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100), settings)
    corners, ids, _ = detector.detectMarkers(page)
    assert len(set(np.ravel(ids).tolist())) == len(ids)
    return {int(k): (c.reshape(4, 2) + 0.5) / PX_PER_MM for k, c in zip(np.ravel(ids), corners, strict=True)}


def test_paper_is_iso_216_a4_or_us_letter(printed):
    paper, path, pages = printed
    expected_mm = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    for page in PdfReader(path).pages:
        size_mm = [float(v) / 72 * 25.4 for v in (page.mediabox.width, page.mediabox.height)]
        assert sorted(size_mm) == pytest.approx(expected_mm, abs=0.01)
    assert len(pages) >= 4


def test_scale_card_is_at_exact_size(printed):
    paper, _, pages = printed
    found = markers_on(pages[0])
    assert sorted(found) == list(range(12))
    for k, corners in found.items():
        sides = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
        assert sides == pytest.approx(45.0, abs=0.1)
        assert corners[1, 0] > corners[0, 0]  # not turned
        assert corners[3, 1] > corners[0, 1]
        expected = found[0].mean(0) + 60.0 * np.array([k % 3, k // 3])
        assert corners.mean(0) == pytest.approx(expected, abs=0.05)
    width_mm, height_mm = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    assert np.mean([c.mean(0) for c in found.values()], axis=0) == pytest.approx([width_mm / 2, height_mm / 2], abs=0.1)


def test_check_bar_is_100_mm_and_keeps_its_distance(printed):
    _, _, pages = printed
    lowest_mm = max(c[:, 1].max() for c in markers_on(pages[0]).values())
    below = pages[0][int((lowest_mm + 1) * PX_PER_MM) :] < 160
    row = int(below.sum(1).argmax())
    columns = np.flatnonzero(below[row])
    assert (columns[-1] - columns[0]) / PX_PER_MM == pytest.approx(100.0, abs=0.15)
    assert len(columns) == columns[-1] - columns[0] + 1
    first_ink_mm = np.flatnonzero(below.any(1))[0] / PX_PER_MM + 1
    assert first_ink_mm > 45 / 6  # a cell of white, which the detector needs around a marker


def test_every_point_sticker_decodes_at_25_mm_with_its_name(printed):
    _, path, pages = printed
    words = [page.extract_text() for page in PdfReader(path).pages]
    seen: set[int] = set()
    for page, text in zip(pages[1:], words[1:], strict=True):
        for number, corners in (markers_on(page) if "stickers" in text.splitlines()[0] else {}).items():
            seen.add(number)
            point = MARKED_POINTS[number]
            assert np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1) == pytest.approx(25.0, abs=0.1)
            side = {"wearer_left": "wearer's LEFT", "wearer_right": "wearer's RIGHT", None: "middle"}[point.side]
            assert f"{side} · {number}" in text
            assert point.name.replace("_", " ") in text
            assert corners.min() > 5  # printers leave an edge
            assert corners[:, 0].max() < page.shape[1] / PX_PER_MM - 5
    assert seen == set(MARKED_POINTS)


def test_pointer_tips_are_40_mm_from_the_middle(printed):
    _, _, pages = printed
    pointers = 0
    for page in pages[4:-2]:  # of the stickers
        for number, corners in markers_on(page).items():
            if MARKED_POINTS[number].kind != "pointer":
                continue
            pointers += 1
            x_mm, y_mm = corners.mean(0)
            top = int((y_mm - 42) * PX_PER_MM)
            column = page[top : int((y_mm - 13.5) * PX_PER_MM), int(x_mm * PX_PER_MM)] < 100
            tip_mm = (top + np.flatnonzero(column)[0]) / PX_PER_MM
            assert y_mm - tip_mm == pytest.approx(40.0, abs=0.3)
            shaft_mm = column[int((42 - 40 + 2) * PX_PER_MM) : int((42 - 16) * PX_PER_MM)]
            assert shaft_mm.all()  # the arrow runs on to the sticker's edge
    assert pointers == 21


def test_set_up_page_says_what_matters(printed):
    _, path, _ = printed
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages[-2:]).split())
    for said in (
        "Phone upright", "waist to chest high", "2.5 to 3.5 m", "self-timer", "plain wall", "clear of the side seams", "black bar",
        "Tape all corners down", "254 mm", "tell it to fitcheck", "felt pen", "one colour a seam", "plumb", "rotary cutters",
        "Tie a narrow elastic round your waist", "arms straight, a hand's width clear of the side seams",
        "for the sides, hands behind the seat",
        "steady footing", "2 cm", "doctor", "stay on this computer", "shoulder point", "back neck point", "waist side", "seat",
    ):  # fmt: skip
        assert said in text, said


def test_unwritable_place_is_one_sentence_and_leaves_nothing(tmp_path):
    with pytest.raises(OutputError, match="cannot be written"):
        write_card(tmp_path / "missing" / "card.pdf", "a4")
    folder = tmp_path / "card.pdf"
    folder.mkdir()
    with pytest.raises(OutputError):
        write_card(folder, "a4")
    assert [p.name for p in tmp_path.iterdir()] == ["card.pdf"]
