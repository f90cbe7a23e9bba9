"""The small pictures keep to their box."""

import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from reportlab.lib.units import mm
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


@pytest.mark.parametrize("draw", DRAWN)
def test_a_picture_fills_its_box_and_stays_in_it(draw, tmp_path: Path) -> None:
    path, margin = tmp_path / "one.pdf", 10
    canvas = Canvas(str(path), pagesize=((pictures.WIDTH_MM + 2 * margin) * mm, (pictures.HEIGHT_MM + 2 * margin) * mm))
    canvas.translate(margin * mm, margin * mm)
    draw(canvas)
    canvas.save()
    subprocess.run(["pdftoppm", "-r", "127", "-gray", str(path), str(tmp_path / "one")], check=True)
    page = cv2.imread(str(next(tmp_path.glob("one*.pgm"))), cv2.IMREAD_GRAYSCALE)
    rows, columns = np.nonzero(page < 200)
    assert rows.min() / 5 > margin - 1
    assert rows.max() / 5 < margin + pictures.HEIGHT_MM + 1
    assert columns.min() / 5 > margin - 1
    assert columns.max() / 5 < margin + pictures.WIDTH_MM + 1
    assert np.ptp(rows) / 5 > 20
    assert np.ptp(columns) / 5 > 40
