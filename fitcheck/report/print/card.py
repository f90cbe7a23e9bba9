"""The printables as one PDF at exact size: scale card, floor sheets, point stickers, pointer stickers, and how to set up."""

from pathlib import Path
from typing import Literal

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fitcheck.core.points import (
    CARD_BAR_MM,
    CARD_COLUMNS,
    CARD_GAP_MM,
    CARD_MARKER_MM,
    CARD_ROWS,
    MARKED_POINTS,
    POINT_BORDER_MM,
    POINT_MARKER_MM,
    POINTER_REACH_MM,
    MarkedPoint,
    MarkerKind,
    card_corners_mm,
)
from fitcheck.report.on_disk import in_place
from fitcheck.report.print.floor_sheets import draw_floor_sheets
from fitcheck.report.print.marker import draw_marker
from fitcheck.report.print.setup_page import draw_setup_pages

Paper = Literal["a4", "letter"]

# reportlab gives ISO 216 A4 (210 x 297 mm) and US Letter (215.9 x 279.4 mm) in points of 1/72 inch.
_PAPERS_PT: dict[Paper, tuple[float, float]] = {"a4": A4, "letter": LETTER}

STICKER_MM = POINT_MARKER_MM + 2 * POINT_BORDER_MM
_COLUMN_MM = 39.0  # five stickers side by side fit both papers with 5 mm to spare for printers that cannot reach the edge
_BAR_BELOW_MM = 14.0  # the card's markers keep at least a cell of white all round
_HEAD_MM = 8.0
_STRIP_HALF_MM = 6.0


def write_card(path: Path, paper: Paper = "a4") -> None:
    """Write the printables.

    Parameters
    ----------
    path : Path
        The PDF; an earlier one is replaced only once the new one is whole.
    paper : a4 | letter
        The drawings are the same on both.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    size = _PAPERS_PT[paper]
    with in_place(path) as waiting:
        canvas = Canvas(str(waiting), pagesize=size, invariant=1)
        canvas.setTitle("fitcheck: scale card, floor sheets and stickers")
        _draw_scale_card(canvas, size)
        draw_floor_sheets(canvas, size)
        _draw_stickers(canvas, size, "centred")
        _draw_stickers(canvas, size, "pointer")
        draw_setup_pages(canvas, size)
        canvas.save()


def _draw_scale_card(canvas: Canvas, size: tuple[float, float]) -> None:
    middle_x, middle_y = size[0] / 2, size[1] / 2
    for number, corners in enumerate(card_corners_mm()):
        centre = corners.mean(0) * mm
        draw_marker(canvas, number, middle_x + centre[0], middle_y + centre[1], CARD_MARKER_MM)
    half_height_mm = (CARD_ROWS * (CARD_MARKER_MM + CARD_GAP_MM) - CARD_GAP_MM) / 2
    left_x = middle_x - (CARD_COLUMNS * (CARD_MARKER_MM + CARD_GAP_MM) - CARD_GAP_MM) / 2 * mm
    bar_y = middle_y - (half_height_mm + _BAR_BELOW_MM) * mm
    canvas.setFillGray(0)
    canvas.setFont("Helvetica", 9)
    top_y = middle_y + (half_height_mm + _BAR_BELOW_MM - 3) * mm
    canvas.drawString(left_x, top_y, "fitcheck scale card. This edge up, square to the camera; plumb where no floor sheets lie.")
    canvas.setLineWidth(0.35)
    canvas.line(left_x, bar_y, left_x + CARD_BAR_MM * mm, bar_y)
    for end_x in (left_x, left_x + CARD_BAR_MM * mm):
        canvas.line(end_x, bar_y - 2 * mm, end_x, bar_y + 2 * mm)
    canvas.drawString(
        left_x, bar_y - 6 * mm, f"Measure this bar: {CARD_BAR_MM:g} mm. If it is not, print at 100 % or give fitcheck its length."
    )
    canvas.showPage()


def _draw_stickers(canvas: Canvas, size: tuple[float, float], kind: MarkerKind) -> None:
    """Sheets of one kind, each pair side by side, her left first; the ids in order."""
    row_mm = STICKER_MM + (11 if kind == "centred" else 11 + POINTER_REACH_MM - STICKER_MM / 2)
    points = {number: point for number, point in MARKED_POINTS.items() if point.kind == kind}
    middles = [number for number, point in points.items() if point.side is None]
    pairs = [number for number, point in points.items() if point.side is not None]
    rows = [middles, *(pairs[i : i + 4] for i in range(0, len(pairs), 4))]
    heading_mm = 22.0
    rows_a_page = int((size[1] / mm - heading_mm - 8) // row_mm)
    left_x = size[0] / 2 - 2 * _COLUMN_MM * mm
    for first in range(0, len(rows), rows_a_page):
        _draw_heading(canvas, size, kind)
        for k, row in enumerate(rows[first : first + rows_a_page]):
            lowest_y = size[1] - (heading_mm + (k + 1) * row_mm - 9) * mm
            for column, number in enumerate(row):
                paired = points[number].side is not None
                place = 0.25 + column + column // 2 * 0.5 if paired else column
                _draw_sticker(canvas, number, points[number], left_x + place * _COLUMN_MM * mm, lowest_y + STICKER_MM / 2 * mm)
        canvas.showPage()


def _draw_heading(canvas: Canvas, size: tuple[float, float], kind: MarkerKind) -> None:
    x, y = 12 * mm, size[1] - 12 * mm
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 12)
    canvas.drawString(x, y, "Point stickers" if kind == "centred" else "Pointer stickers")
    canvas.setFont("Helvetica", 9)
    says = (
        "Cut along the dashed lines. The MIDDLE of the sticker goes on the body point. Left and right are the wearer's own."
        if kind == "centred"
        else "Cut along the dashed lines, arrow included. The arrow's TIP goes on the body point, the square where the camera sees it."
    )
    canvas.drawString(x, y - 5 * mm, says)


def _draw_sticker(canvas: Canvas, number: int, point: MarkedPoint, x: float, y: float) -> None:
    """One sticker, the marker's middle at (x, y) in points."""
    half = STICKER_MM / 2 * mm
    draw_marker(canvas, number, x, y, POINT_MARKER_MM)
    outline = [(-half, -half), (half, -half), (half, half)]
    if point.kind == "pointer":
        strip, tip, head = _STRIP_HALF_MM * mm, POINTER_REACH_MM * mm, _HEAD_MM * mm
        outline += [(strip, half), (strip, tip - head), (0, tip), (-strip, tip - head), (-strip, half)]
        _draw_arrow(canvas, x, y + half, y + tip)
    outline.append((-half, half))
    path = canvas.beginPath()
    path.moveTo(x + outline[0][0], y + outline[0][1])
    for dx, dy in outline[1:]:
        path.lineTo(x + dx, y + dy)
    path.close()
    canvas.saveState()
    canvas.setStrokeGray(0.6)
    canvas.setLineWidth(0.4)
    canvas.setDash(2, 2)
    canvas.drawPath(path)
    canvas.restoreState()
    side = {"wearer_left": "LEFT", "wearer_right": "RIGHT", None: ""}[point.side]
    canvas.setFillGray(0.55)  # pale, so that the square's white rim stays white to the camera
    canvas.setFont("Helvetica", 5)
    canvas.drawCentredString(x, y - half + 0.8 * mm, f"{number} {point.title} {side}".strip())
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 8)
    canvas.drawCentredString(x, y - half - 3.6 * mm, point.title)
    canvas.setFont("Helvetica", 7)
    where = f"wearer's {side}" if side else "middle"
    canvas.drawCentredString(x, y - half - 6.6 * mm, f"{where} · {number}")


def _draw_arrow(canvas: Canvas, x: float, from_y: float, tip_y: float) -> None:
    head, half_head, half_shaft = _HEAD_MM * mm, _HEAD_MM / 2 * mm, 1.1 * mm
    path = canvas.beginPath()
    path.moveTo(x, tip_y)
    for dx, y in (
        (half_head, tip_y - head),
        (half_shaft, tip_y - head),
        (half_shaft, from_y),
        (-half_shaft, from_y),
        (-half_shaft, tip_y - head),
        (-half_head, tip_y - head),
    ):
        path.lineTo(x + dx, y)
    path.close()
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
