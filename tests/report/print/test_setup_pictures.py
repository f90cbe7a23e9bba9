"""The small pictures keep to their box."""

import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from fitcheck.report.print import setup_pictures as pictures

DRAWN = [
    pictures.print_and_measure,
    pictures.lay_the_sheets,
    pictures.hang_the_card,
    pictures.set_the_camera,
    pictures.light_the_room,
    pictures.stand_and_turn,
    pictures.what_the_picture_shows,
    pictures.four_photos,
]


PX_PER_MM = 5


def page_of(draw, tmp_path: Path, margin: int) -> np.ndarray:
    """The picture with a white margin, millimetres, as grey levels."""
    path = tmp_path / "one.pdf"
    canvas = Canvas(str(path), pagesize=((pictures.WIDTH_MM + 2 * margin) * mm, (pictures.HEIGHT_MM + 2 * margin) * mm))
    canvas.translate(margin * mm, margin * mm)
    draw(canvas)
    canvas.save()
    subprocess.run(["pdftoppm", "-r", f"{25.4 * PX_PER_MM:.0f}", "-gray", str(path), str(tmp_path / "one")], check=True)
    return cv2.imread(str(next(tmp_path.glob("one*.pgm"))), cv2.IMREAD_GRAYSCALE)


@pytest.mark.parametrize("draw", DRAWN)
def test_no_line_runs_through_the_words(draw, tmp_path: Path, monkeypatch) -> None:
    """The picture is drawn without its words; where they would be, nothing else is."""
    boxes = []

    def noted(canvas: Canvas, x: float, y: float, text: str, centred: bool = False, bold: bool = False) -> None:
        wide = stringWidth(text, "Helvetica-Bold" if bold else "Helvetica", 7.5) / mm
        boxes.append((x - wide / 2 if centred else x, y, wide))

    monkeypatch.setattr(pictures, "_words", noted)
    page, margin = page_of(draw, tmp_path, 10), 10
    for x, y, wide in boxes:
        low, high = (page.shape[0] - PX_PER_MM * (margin + y + up) for up in (0.0, 1.9))  # a capital of 7.5 points
        words = page[int(high) : int(low), int(PX_PER_MM * (margin + x)) : int(PX_PER_MM * (margin + x + wide))]
        assert (words < 200).mean() < 0.005


@pytest.mark.parametrize("draw", DRAWN)
def test_a_picture_fills_its_box_and_stays_in_it(draw, tmp_path: Path) -> None:
    page, margin = page_of(draw, tmp_path, 10), 10
    rows, columns = np.nonzero(page < 200)
    assert rows.min() / 5 > margin - 1
    assert rows.max() / 5 < margin + pictures.HEIGHT_MM + 1
    assert columns.min() / 5 > margin - 1
    assert columns.max() / 5 < margin + pictures.WIDTH_MM + 1
    assert np.ptp(rows) / 5 > 20
    assert np.ptp(columns) / 5 > 40
