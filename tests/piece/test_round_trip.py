"""An altered piece printed, cut out, photographed and read again is the same piece."""

import subprocess

import cv2
import numpy as np
import pytest
from piece.compared import apart_mm, laid_on
from piece.own_pieces import as_read
from piece.photographed import camera, taken
from scenes.sheets.drafted import bodice
from scenes.sheets.paper import PX_PER_MM, Sheet
from scenes.sheets.photograph import LaidCard

from fitcheck.piece.altering import alter_own
from fitcheck.piece.draw_own import drawn_piece
from fitcheck.piece_command import Wish, read_photos
from fitcheck.piece_photos import open_photos
from fitcheck.report.print.sheet import EDGE_MM, write_sheet

HEAD_MM = 12.0  # of a page, above the drawing


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    """The altered piece, and the sheet cut out of its print along the printed line."""
    folder = tmp_path_factory.mktemp("print")
    done = alter_own([as_read(bodice("front", 1.0, 15.0, True, True))], "full_small_bust", 15.0).pieces[0]
    drawing = drawn_piece(done.after)
    write_sheet(folder / "p.pdf", drawing, "front", "sheet", full_size=True)
    subprocess.run(["pdftoppm", "-r", str(PX_PER_MM * 25.4), "-gray", str(folder / "p.pdf"), str(folder / "p")], check=True)
    page = cv2.imread(str(next(folder.glob("p-*.pgm"))), cv2.IMREAD_GRAYSCALE)
    left, top = round(EDGE_MM * PX_PER_MM), round((EDGE_MM + HEAD_MM) * PX_PER_MM)
    page = page[top : top + round(drawing.height * PX_PER_MM), left : left + round(drawing.width * PX_PER_MM)]
    contours, _ = cv2.findContours((page < 128).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    mask = np.zeros(page.shape, np.uint8)
    cv2.drawContours(mask, [max(contours, key=cv2.contourArea)], -1, 1, -1)
    mask = cv2.erode(mask, np.ones((3, 3), np.uint8))  # to the middle of a line half a millimetre wide
    ink = np.clip(1 - page.astype(np.float32) / 255, 0, 1) * cv2.erode(mask, np.ones((7, 7), np.uint8))
    corners = max(cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)[0], key=cv2.contourArea).reshape(-1, 2) / PX_PER_MM
    flat = np.zeros((int(drawing.height) + 2, int(drawing.width) + 2), np.float32)
    return done.after, Sheet(np.zeros(2), ink, cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 0.7), flat, corners)


def test_the_altered_piece_comes_back_within_a_millimetre(printed, tmp_path):
    piece, sheet = printed
    low, high = sheet.paper.min(axis=0), sheet.paper.max(axis=0)
    card = LaidCard(np.array([high[0] + 150.0, (low[1] + high[1]) / 2]), 4.0)
    shown = np.array([high[0] + 270 - low[0], high[1] - low[1]])
    taken(tmp_path / "a.jpg", [sheet], card, camera((low + low + shown) / 2, shown))
    own, _, reading = read_photos(open_photos([tmp_path / "a.jpg"]), Wish(allowance_mm=15.0))
    far = apart_mm(laid_on(own.outline, piece.outline), piece.outline)
    assert np.median(far) < 0.4
    assert np.percentile(far, 95) < 1.0
    assert set(own.edges) == set(piece.edges)
    for name, points in piece.seam_lines().items():
        if not name.startswith("mouth"):
            mine = np.hypot(*np.diff(own.seam_lines()[name], axis=0).T).sum()
            assert mine == pytest.approx(np.hypot(*np.diff(points, axis=0).T).sum(), abs=2.0), name
    assert own.fold == "centre"
    assert reading.size is None
