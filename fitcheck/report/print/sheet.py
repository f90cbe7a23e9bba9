"""A pattern drawing on paper: small on one page, or at full size on pages to be taped together.

Long, because how much is written below a drawing decides what room the drawing has, and both what scale it gets.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas
from shapely import LineString, box

from fitcheck.core.drawing import PatternSheet, SewnSeam
from fitcheck.report.on_disk import in_place
from fitcheck.report.words.sentences import seam_says
from fitcheck.report.words.units import Units, fill

Paper = Literal["a4", "letter"]
Page = Paper | tuple[float, float]  # or a page of its own, width and height in points
_PAPERS_PT: dict[Paper, tuple[float, float]] = {"a4": A4, "letter": LETTER}
EDGE_MM = 12.0  # what printers may leave white
OUTSIDE_MM = 2.0  # of the drawing area, what a line is wide
OVERLAP_MM = 10.0  # pages overlap by this much, so that they can be taped
SCALES = (2, 2.5, 3, 4, 5, 6, 7, 8, 10)
_HEAD_MM, _FOOT_MM, _ROW_MM = 12.0, 16.0, 4.2
_INK, _RED, _GREEN, _GREY = (0.11, 0.23, 0.37), (0.7, 0.27, 0.17), (0.35, 0.65, 0.36), (0.5, 0.5, 0.5)
_LINES: dict[str, tuple[float, tuple[float, float, float], tuple[float, ...]]] = {  # mm, colour, dashes in mm
    "after": (0.5, _INK, ()),
    "cutting": (0.5, _INK, ()),
    "seam": (0.3, _INK, (5, 2)),
    "fold": (0.4, _INK, ()),
    "before": (0.3, _GREY, (3, 2)),
    "cut": (0.4, _RED, (1, 1.5)),
    "hinge": (0.4, _RED, ()),
    "balance": (0.5, _INK, ()),
    "centre": (0.3, _INK, (6, 1.5, 1, 1.5)),
    "grain": (0.3, (0.2, 0.2, 0.2), ()),
    "gap_hatch": (0.2, (0.17, 0.42, 0.2), ()),
    "lap_hatch": (0.2, (0.56, 0.2, 0.1), ()),
    "inner": (0.2, _INK, ()),
    "dart": (0.3, _INK, ()),
    "notch": (0.8, _INK, ()),
    "tape": (1.0, (0.48, 0.25, 0.6), ()),
    "arrow": (0.4, (0, 0, 0), ()),
    "leader": (0.15, (0, 0, 0), ()),
}
_AREAS = {"gap": (_GREEN, 0.35), "lap": (_RED, 0.3), "head": ((0, 0, 0), 1.0)}
_SQUARE_MM = 50.0
_LETTERS_PT = (7.0, 9.0)  # least that can be read on paper, and most
_KEY = (
    "Grey dashes: before. Thick line: after. Red dots: cut. Ring: hinge, not cut through. Hatched one way (green): paper put in. "
    "Hatched both ways (red): lapped or cut off. Arrow with two heads: grain. Chain line: centre, on the fold if it has no seam or closing."
)
_HEADS = ("Steps", "Sewn together")


@dataclass(frozen=True, slots=True)
class Below:
    """What is written below a drawing.

    Attributes
    ----------
    steps : sequence of str
        How it is done, lengths filled in.
    seams : sequence of SewnSeam
        To be listed with their lengths before and after.
    """

    steps: Sequence[str] = ()
    seams: Sequence[SewnSeam] = ()


_NOTHING = Below()


def tiles(sheet: PatternSheet, paper: Page) -> tuple[int, int]:
    """Columns and rows of pages at full size."""
    width, height = _usable(paper)
    columns, rows = ((size - OVERLAP_MM) / (page - OVERLAP_MM) for size, page in ((sheet.width, width), (sheet.height, height)))
    return max(1, math.ceil(columns)), max(1, math.ceil(rows))


def room(paper: Paper, below: Below, units: Units) -> tuple[float, float]:
    """Width and height in mm that a drawing has on one page, above what is written there."""
    width, height = _usable(paper)
    return width, height - _listed_mm(_told(below, units, paper, _KEY))


def write_sheet(
    path: Path,
    sheet: PatternSheet,
    title: str,
    paper: Paper | Literal["sheet"] = "a4",
    full_size: bool = False,
    below: Below = _NOTHING,
    units: Units = "cm",
) -> float:
    """Write the drawing as a PDF.

    Parameters
    ----------
    path : Path
        An earlier file is replaced only once the new one is whole.
    paper : a4 | letter | sheet
        The last is one page as large as the drawing, for a copy shop's roll; always at full size.
    full_size : bool
        1:1 on as many pages as it takes (empty ones are left out), with registration marks, after a page with a test square, how the
        pages lie, and the seams; else the largest of the usual scales that fits one page.
    below : Below
        What is written below the drawing.
    units : cm | in
        Of all lengths that are written.

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
        page = _own_page(sheet) if paper == "sheet" else paper
        canvas = Canvas(str(waiting), pagesize=_points(page), invariant=1)
        canvas.setTitle(f"fitcheck: {title}")
        filled = replace(sheet, labels=tuple((fill(says, units), x, y) for says, x, y in sheet.labels))
        told = _told(below, units, page, (sheet.key or _KEY) if sheet.labels or sheet.key else "")
        if paper == "sheet":
            scale = _whole(canvas, filled, title, page)
        else:
            scale = _tiled(canvas, filled, title, page, told) if full_size else _small(canvas, filled, title, page, told)
        canvas.save()
    return scale


def _points(page: Page) -> tuple[float, float]:
    return page if isinstance(page, tuple) else _PAPERS_PT[page]


def _own_page(sheet: PatternSheet) -> Page:
    """Large enough for the drawing and a test square below it."""
    high = sheet.height + _SQUARE_MM + 2 * EDGE_MM + _HEAD_MM + _FOOT_MM + OVERLAP_MM
    return (max(sheet.width, 2.5 * _SQUARE_MM) + 2 * EDGE_MM) * mm, high * mm


def _whole(canvas: Canvas, sheet: PatternSheet, title: str, page: Page) -> float:
    """All of it on one page."""
    _frame(canvas, page, f"{title}, full size", 1.0, sheet.warning)
    _lines(canvas, sheet, page, (0.0, 0.0), 1.0)
    left, top = _corner(page)
    low = top - _usable(page)[1] + 2
    canvas.rect(left * mm, low * mm, _SQUARE_MM * mm, _SQUARE_MM * mm)
    canvas.drawString((left + _SQUARE_MM + 4) * mm, (low + _SQUARE_MM / 2) * mm, "Test square: 50 mm each way.")
    canvas.showPage()
    return 1.0


def _usable(paper: Page) -> tuple[float, float]:
    width, height = (size / mm for size in _points(paper))
    return width - 2 * EDGE_MM, height - 2 * EDGE_MM - _HEAD_MM - _FOOT_MM


def _small(canvas: Canvas, sheet: PatternSheet, title: str, paper: Page, told: Sequence[str]) -> float:
    width, height = _usable(paper)
    height -= _listed_mm(told)
    need = max(sheet.width / width, sheet.height / height)
    scale = next((one for one in SCALES if one >= need), math.ceil(need))
    _frame(canvas, paper, f"{title}, scale 1:{scale:g}", scale, sheet.warning)
    _lines(canvas, sheet, paper, (-(width * scale - sheet.width) / 2, 0.0), scale)  # what room is left, left and right alike
    _list(canvas, paper, told)
    canvas.showPage()
    return float(scale)


def _tiled(canvas: Canvas, sheet: PatternSheet, title: str, paper: Page, told: Sequence[str]) -> float:
    width, height = _usable(paper)
    columns, rows = tiles(sheet, paper)
    _cover(canvas, sheet, title, paper, told)
    for row, column in _pages(sheet, paper):
        _frame(canvas, paper, f"{title}, full size; row {row + 1} of {rows}, page {column + 1} of {columns}", 1.0, sheet.warning)
        _lines(canvas, sheet, paper, (column * (width - OVERLAP_MM), row * (height - OVERLAP_MM)), 1.0)
        _registration(canvas, paper, row, column)
        canvas.showPage()
    return 1.0


def _pages(sheet: PatternSheet, paper: Page) -> list[tuple[int, int]]:
    """Rows and columns of the pages with a line that is not on the page before or above already."""
    width, height = _usable(paper)
    columns, rows = tiles(sheet, paper)
    lines = [LineString(stroke.points) for stroke in sheet.strokes]
    found = []
    for row in range(rows):
        for column in range(columns):
            x, y = column * (width - OVERLAP_MM), row * (height - OVERLAP_MM)
            page = box(x + OVERLAP_MM * (column > 0), y + OVERLAP_MM * (row > 0), x + width, y + height)
            if any(page.intersects(line) for line in lines):
                found.append((row, column))
    return found


def _cover(canvas: Canvas, sheet: PatternSheet, title: str, paper: Page, told: Sequence[str]) -> None:
    """A test square, how the pages lie, and the seams."""
    left, top = _corner(paper)
    width, height = _usable(paper)
    _frame(canvas, paper, f"{title}, full size", 1.0, sheet.warning)
    canvas.rect(left * mm, (top - _SQUARE_MM) * mm, _SQUARE_MM * mm, _SQUARE_MM * mm)
    says = (
        "Test square: 50 mm each way.",
        "Print at 100 %, measure it both ways,",
        "and go on only if it is right.",
        "Then lay crosses of one name on each other.",
        "Below: how the pages lie, row and page.",
    )
    for i, line in enumerate(says):
        canvas.drawString((left + _SQUARE_MM + 5) * mm, (top - 8 - 5 * i) * mm, line)
    room = height - _SQUARE_MM - 12 - _listed_mm(told)
    columns, rows = tiles(sheet, paper)
    across, down = (count * (page - OVERLAP_MM) + OVERLAP_MM for count, page in ((columns, width), (rows, height)))
    scale = max(across / width, down / room, 2.0)
    _lines(canvas, replace(sheet, names=(), labels=()), paper, (0.0, -(_SQUARE_MM + 10) * scale), scale)
    canvas.setLineWidth(0.3)
    canvas.setFont("Helvetica-Bold", 7)
    for row, column in _pages(sheet, paper):
        x, y = column * (width - OVERLAP_MM) / scale, row * (height - OVERLAP_MM) / scale
        corner = (left + x) * mm, (top - _SQUARE_MM - 10 - y - height / scale) * mm
        canvas.rect(*corner, width / scale * mm, height / scale * mm)
        canvas.drawString(corner[0] + 2, corner[1] + height / scale * mm - 7, f"{row + 1}.{column + 1}")
    _list(canvas, paper, told)
    canvas.showPage()


def _told(below: Below, units: Units, paper: Page, key: str) -> list[str]:
    """What is written below the drawing, line by line, no line wider than the page; heads are `_HEADS`."""
    steps = [f"{i}. {step}" for i, step in enumerate(below.steps, 1)]
    seams = [f"{seam.name}: {seam_says(seam, units)}" for seam in below.seams]
    parts = [*(["Steps", *steps] if steps else []), *(["Sewn together", *seams] if seams else []), *([key] if key else [])]
    return [line for part in parts for line in simpleSplit(part, "Helvetica", 8, _usable(paper)[0] * mm)]


def _listed_mm(told: Sequence[str]) -> float:
    return _ROW_MM * (len(told) + 0.5) if told else 0.0


def _list(canvas: Canvas, paper: Page, told: Sequence[str]) -> None:
    """Steps and seams, at the foot of the page."""
    left, top = _corner(paper)
    y = top - _usable(paper)[1] + _ROW_MM * (len(told) - 1)
    for i, line in enumerate(told):
        canvas.setFont("Helvetica-Bold" if line in _HEADS else "Helvetica", 8)
        canvas.drawString(left * mm, (y - _ROW_MM * i) * mm, line)


def _corner(paper: Page) -> tuple[float, float]:
    """Top left of the drawing area, in mm from the page's bottom left."""
    return EDGE_MM, _points(paper)[1] / mm - EDGE_MM - _HEAD_MM


def _frame(canvas: Canvas, paper: Page, head: str, scale: float, warning: str) -> None:
    left, top = _corner(paper)
    canvas.setFont("Helvetica", 9)
    canvas.drawString(left * mm, (top + 5) * mm, head)
    canvas.setFont("Helvetica-Bold", 9)
    canvas.drawRightString((_points(paper)[0] / mm - EDGE_MM) * mm, (top + 5) * mm, warning)
    canvas.setFont("Helvetica", 9)
    canvas.setLineWidth(0.6)
    bar = 100.0 / scale if scale > 1 else 100.0
    y = EDGE_MM + 4
    canvas.line(left * mm, y * mm, (left + bar) * mm, y * mm)
    for x in (left, left + bar):
        canvas.line(x * mm, (y - 2) * mm, x * mm, (y + 2) * mm)
    says = "100 mm: print at 100 % and measure it" if scale == 1 else "100 mm of the pattern"
    canvas.drawString((left + bar + 3) * mm, (y - 1) * mm, says)


def _lines(canvas: Canvas, sheet: PatternSheet, paper: Page, at: tuple[float, float], scale: float) -> None:
    left, top = _corner(paper)
    width, height = _usable(paper)
    canvas.saveState()
    window = canvas.beginPath()
    window.rect(left * mm, (top - height) * mm, width * mm, height * mm)
    canvas.clipPath(window, stroke=0, fill=0)
    low, high = np.array(at) - OUTSIDE_MM, np.array(at) + np.array([width, height]) * scale + OUTSIDE_MM
    for stroke in sheet.strokes:
        if (stroke.points.max(axis=0) < low).any() or (stroke.points.min(axis=0) > high).any():
            continue  # it lies on other pages
        path = canvas.beginPath()
        for i, (x, y) in enumerate(stroke.points):
            place = (left + (x - at[0]) / scale) * mm, (top - (y - at[1]) / scale) * mm
            (path.lineTo if i else path.moveTo)(*place)
        if stroke.kind in _AREAS:
            colour, opaque = _AREAS[stroke.kind]
            canvas.setFillColorRGB(*colour, alpha=opaque)
            canvas.drawPath(path, stroke=0, fill=1)
            continue
        weight, colour, dash = _LINES[stroke.kind]
        canvas.setLineWidth(weight * mm)
        canvas.setStrokeColorRGB(*colour)
        canvas.setDash([one * mm for one in dash])
        canvas.drawPath(path)
    canvas.setDash([])
    canvas.setFillColorRGB(0, 0, 0, alpha=1)
    letters = min(_LETTERS_PT[1], max(_LETTERS_PT[0], sheet.text / scale * mm)) if scale > 1 else 14  # no larger than they were given room
    for font, draw, words in (("Helvetica-Bold", canvas.drawString, sheet.names), ("Helvetica", canvas.drawCentredString, sheet.labels)):
        canvas.setFont(font, letters)
        for says, x, y in words:
            draw((left + (x - at[0]) / scale) * mm, (top - (y - at[1]) / scale) * mm - (letters / 3 if words is sheet.labels else 0), says)
    canvas.restoreState()


def _registration(canvas: Canvas, paper: Page, row: int, column: int) -> None:
    """Crosses in the middle of the overlaps, each with a name: lay the cross of one page on that of the same name on the next."""
    left, top = _corner(paper)
    width, height = _usable(paper)
    inset = OVERLAP_MM / 2
    canvas.setLineWidth(0.3)
    canvas.setFont("Helvetica", 7)
    for right, x in enumerate((left + inset, left + width - inset)):
        for low, y in enumerate((top - inset, top - height + inset)):
            canvas.line((x - 4) * mm, y * mm, (x + 4) * mm, y * mm)
            canvas.line(x * mm, (y - 4) * mm, x * mm, (y + 4) * mm)
            canvas.circle(x * mm, y * mm, 2 * mm)
            canvas.drawString((x + 1.2) * mm, (y + 2.4) * mm, f"{chr(ord('A') + row + low)}{column + right + 1}")
