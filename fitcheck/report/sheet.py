"""A pattern drawing on paper: small on one page, or at full size on pages to be taped together."""

import math
from pathlib import Path
from typing import Literal

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fitcheck.core.records import PatternSheet
from fitcheck.report.on_disk import in_place

Paper = Literal["a4", "letter"]
_PAPERS_PT: dict[Paper, tuple[float, float]] = {"a4": A4, "letter": LETTER}
EDGE_MM = 12.0  # what printers may leave white
OVERLAP_MM = 10.0  # pages overlap by this much, so that they can be taped
SCALES = (2, 2.5, 4, 5, 8, 10)
_HEAD_MM, _FOOT_MM = 12.0, 16.0
_LINES = {"after": (0.5, (0.11, 0.23, 0.37), ()), "before": (0.3, (0.5, 0.5, 0.5), (3, 2)), "cut": (0.4, (0.7, 0.27, 0.17), (1, 1.5))}


def tiles(sheet: PatternSheet, paper: Paper) -> tuple[int, int]:
    """Columns and rows of pages at full size."""
    width, height = _usable(paper)
    columns, rows = ((size - OVERLAP_MM) / (page - OVERLAP_MM) for size, page in ((sheet.width, width), (sheet.height, height)))
    return max(1, math.ceil(columns)), max(1, math.ceil(rows))


def write_sheet(path: Path, sheet: PatternSheet, title: str, paper: Paper = "a4", full_size: bool = False) -> float:
    """Write the drawing as a PDF.

    Parameters
    ----------
    path : Path
        An earlier file is replaced only once the new one is whole.
    full_size : bool
        1:1 on as many pages as it takes, with registration marks; else the largest of the usual scales that fits one page.

    Returns
    -------
    float
        The scale: 1 for full size, 5 for 1:5.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    with in_place(path) as waiting:
        canvas = Canvas(str(waiting), pagesize=_PAPERS_PT[paper], invariant=1)
        canvas.setTitle(f"fitcheck: {title}")
        scale = _tiled(canvas, sheet, title, paper) if full_size else _small(canvas, sheet, title, paper)
        canvas.save()
    return scale


def _usable(paper: Paper) -> tuple[float, float]:
    width, height = (size / mm for size in _PAPERS_PT[paper])
    return width - 2 * EDGE_MM, height - 2 * EDGE_MM - _HEAD_MM - _FOOT_MM


def _small(canvas: Canvas, sheet: PatternSheet, title: str, paper: Paper) -> float:
    width, height = _usable(paper)
    need = max(sheet.width / width, sheet.height / height)
    scale = next((one for one in SCALES if one >= need), math.ceil(need))
    _frame(canvas, paper, f"{title}, scale 1:{scale:g}", scale)
    _lines(canvas, sheet, paper, (0.0, 0.0), scale)
    canvas.showPage()
    return float(scale)


def _tiled(canvas: Canvas, sheet: PatternSheet, title: str, paper: Paper) -> float:
    width, height = _usable(paper)
    columns, rows = tiles(sheet, paper)
    for row in range(rows):
        for column in range(columns):
            at = (column * (width - OVERLAP_MM), row * (height - OVERLAP_MM))
            _frame(canvas, paper, f"{title}, full size; row {row + 1} of {rows}, page {column + 1} of {columns}", 1.0)
            _lines(canvas, sheet, paper, at, 1.0)
            _registration(canvas, paper)
            canvas.showPage()
    return 1.0


def _corner(paper: Paper) -> tuple[float, float]:
    """Top left of the drawing area, in mm from the page's bottom left."""
    return EDGE_MM, _PAPERS_PT[paper][1] / mm - EDGE_MM - _HEAD_MM


def _frame(canvas: Canvas, paper: Paper, head: str, scale: float) -> None:
    left, top = _corner(paper)
    canvas.setFont("Helvetica", 9)
    canvas.drawString(left * mm, (top + 5) * mm, head)
    canvas.setLineWidth(0.6)
    bar = 100.0 / scale if scale > 1 else 100.0
    y = EDGE_MM + 4
    canvas.line(left * mm, y * mm, (left + bar) * mm, y * mm)
    for x in (left, left + bar):
        canvas.line(x * mm, (y - 2) * mm, x * mm, (y + 2) * mm)
    says = "100 mm: print at 100 % and measure it" if scale == 1 else "100 mm of the pattern"
    canvas.drawString((left + bar + 3) * mm, (y - 1) * mm, says)


def _lines(canvas: Canvas, sheet: PatternSheet, paper: Paper, at: tuple[float, float], scale: float) -> None:
    left, top = _corner(paper)
    width, height = _usable(paper)
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(left * mm, (top - height) * mm, width * mm, height * mm)
    canvas.clipPath(window, stroke=0, fill=0)
    for stroke in sheet.strokes:
        weight, colour, dash = _LINES[stroke.kind]
        canvas.setLineWidth(weight * mm)
        canvas.setStrokeColorRGB(*colour)
        canvas.setDash([one * mm for one in dash])
        path = canvas.beginPath()
        for i, (x, y) in enumerate(stroke.points):
            place = (left + (x - at[0]) / scale) * mm, (top - (y - at[1]) / scale) * mm
            (path.lineTo if i else path.moveTo)(*place)
        canvas.drawPath(path)
    canvas.setDash([])
    canvas.setFont("Helvetica", 9 if scale > 1 else 14)
    for name, x, y in sheet.names:
        canvas.drawString((left + (x - at[0]) / scale) * mm, (top - (y - at[1]) / scale) * mm, name)
    canvas.restoreState()


def _registration(canvas: Canvas, paper: Paper) -> None:
    """Crosses in the middle of the overlaps: lay the cross of one page on that of the next."""
    left, top = _corner(paper)
    width, height = _usable(paper)
    inset = OVERLAP_MM / 2
    canvas.setLineWidth(0.3)
    for x in (left + inset, left + width - inset):
        for y in (top - inset, top - height + inset):
            canvas.line((x - 4) * mm, y * mm, (x + 4) * mm, y * mm)
            canvas.line(x * mm, (y - 4) * mm, x * mm, (y + 4) * mm)
            canvas.circle(x * mm, y * mm, 2 * mm)
