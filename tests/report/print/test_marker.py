"""One printed square, read back by OpenCV at its exact size: a page of one sheet shows it."""

import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fitcheck.report.print.marker import draw_marker


def test_a_square_is_drawn_about_its_middle(tmp_path: Path) -> None:
    path = tmp_path / "one.pdf"
    canvas = Canvas(str(path), pagesize=(100 * mm, 100 * mm))
    draw_marker(canvas, 47, 60 * mm, 40 * mm, 48.0)
    canvas.save()
    subprocess.run(["pdftoppm", "-r", "254", "-gray", str(path), str(tmp_path / "one")], check=True)
    page = cv2.imread(str(next(tmp_path.glob("one*.pgm"))), cv2.IMREAD_GRAYSCALE)
    corners, ids, _ = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)).detectMarkers(page)
    assert ids.ravel().tolist() == [47]
    square = corners[0].reshape(4, 2) / 10
    assert square.mean(axis=0) == pytest.approx([60, 60], abs=0.2)  # 40 mm from below is 60 from above
    assert np.ptp(square, axis=0) == pytest.approx([48, 48], abs=0.3)
