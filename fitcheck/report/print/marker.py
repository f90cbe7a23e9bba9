"""One printed square, at exact size."""

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fitcheck.core.aruco import CELLS, white_cells


def draw_marker(canvas: Canvas, number: int, x: float, y: float, side_mm: float) -> None:
    """A marker with its middle at (x, y) in points, as one filled path: separate squares would show hairlines between them."""
    dark = ~white_cells(number)[1:-1, 1:-1]
    cell = side_mm / CELLS * mm
    path = canvas.beginPath()
    for row in range(CELLS):
        column = 0
        while column < CELLS:
            run = column
            while run < CELLS and dark[row, run]:
                run += 1
            if run > column:
                path.rect(x + (column - CELLS / 2) * cell, y + (CELLS / 2 - row - 1) * cell, (run - column) * cell, cell)
            column = run + 1
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
