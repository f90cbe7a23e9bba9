"""The printables for the floor: two sheets that lie beside her feet, and the strips by which she stands and turns."""

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from fitcheck.core.floor_sheet import FLOOR_BAR_MM, FLOOR_IDS, FLOOR_MARKER_MM, TOE_STRIP_MM, SheetName, floor_corners_mm
from fitcheck.report.print.marker import draw_marker

# The drawing is the same on A4 and Letter lying; printers leave about 5 mm white at the rims.
_ABOVE_MM = 12.0  # white above the squares, a cell of theirs
_BAR_BELOW_MM = 13.0  # so much white below them too
_TICK_MM = 2.0
_STRIP_MM = 40.0  # breadth of a toe strip
_STRIP_GAP_MM = 8.0
_TOE_BAR_MM = 5.0
# A shoe's sole seen from above, toes up: shares of its length from the heel, half breadths from its middle line.
_SOLE = ((0.0, 0.10), (0.04, 0.14), (0.25, 0.12), (0.55, 0.15), (0.78, 0.19), (0.93, 0.16), (1.0, 0.06))
# Name, where it points, how she stands, and on which side of it each foot is, seen with its black bar to the right.
_STRIPS: tuple[tuple[str, str, str, tuple[int, int]], ...] = (
    ("FRONT", "to the camera", "astride, facing the camera", (1, -1)),
    ("RIGHT", "to the right in the picture", "behind it, right foot along it", (1, 2)),
    ("BACK", "away from the camera", "astride, back to the camera", (1, -1)),
    ("LEFT", "to the left in the picture", "behind it, left foot along it", (-1, -2)),
)


def draw_floor_sheets(canvas: Canvas, size: tuple[float, float]) -> None:
    """Draw both floor sheets, lying, and the page of toe strips; each ends its page.

    Parameters
    ----------
    canvas : Canvas
    size : (float, float)
        Width and height of the upright paper in points.
    """
    for which in FLOOR_IDS:
        canvas.setPageSize((size[1], size[0]))
        _draw_sheet(canvas, which, (size[1], size[0]))
    canvas.setPageSize(size)
    _draw_strips(canvas, size)


def _draw_sheet(canvas: Canvas, which: SheetName, size: tuple[float, float]) -> None:
    corners = floor_corners_mm()
    half_height_mm = float(corners[..., 1].max())
    middle_x, middle_y = size[0] / 2, size[1] - (_ABOVE_MM + half_height_mm) * mm
    for number, square in zip(FLOOR_IDS[which], corners, strict=True):
        x, y = square.mean(axis=0) * mm
        draw_marker(canvas, number, middle_x + x, middle_y + y, FLOOR_MARKER_MM)
    bar_y, half_bar = middle_y - (half_height_mm + _BAR_BELOW_MM) * mm, FLOOR_BAR_MM / 2 * mm
    canvas.setLineWidth(0.35)
    canvas.setStrokeGray(0)
    for a, b in ((-half_bar, -38 * mm), (38 * mm, half_bar)):
        canvas.line(middle_x + a, bar_y, middle_x + b, bar_y)
    for end in (-half_bar, half_bar):
        canvas.line(middle_x + end, bar_y - _TICK_MM * mm, middle_x + end, bar_y + _TICK_MM * mm)
    canvas.setFillGray(0)
    canvas.setFont("Helvetica", 8)
    canvas.drawString(middle_x - half_bar + 2 * mm, bar_y - 4 * mm, "From tick to tick: 254 mm = 25.4 cm = 10 in. Measure it")
    canvas.drawRightString(middle_x + half_bar - 2 * mm, bar_y - 4 * mm, "to a quarter mm (1/100 in) and give fitcheck its length.")
    canvas.setFont("Helvetica-Bold", 9)
    canvas.drawCentredString(middle_x, bar_y + 2.2 * mm, f"fitcheck floor sheet, {which.upper()} in the picture")
    _draw_arrow_down(canvas, middle_x, bar_y + 0.8 * mm)
    canvas.setFont("Helvetica", 8)
    canvas.drawString(middle_x + 8 * mm, bar_y - 1.6 * mm, "to the camera")
    canvas.showPage()


def _draw_arrow_down(canvas: Canvas, x: float, top: float) -> None:
    path = canvas.beginPath()
    path.moveTo(x - 1.5 * mm, top)
    for dx, dy in ((1.5, 0), (1.5, -2.5), (5, -2.5), (0, -7), (-5, -2.5), (-1.5, -2.5)):
        path.lineTo(x + dx * mm, top + dy * mm)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_strips(canvas: Canvas, size: tuple[float, float]) -> None:
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 12)
    canvas.drawString(12 * mm, size[1] - 14 * mm, "Toe strips")
    canvas.setFont("Helvetica", 9)
    canvas.drawString(
        12 * mm, size[1] - 20 * mm, "Cut along the dashed lines. Lay them as a star: tails together, half-way between the floor sheets."
    )
    canvas.drawString(12 * mm, size[1] - 24.5 * mm, "Tape each one down flat on all sides, so that nobody slips.")
    left = (size[0] - TOE_STRIP_MM * mm) / 2
    for k, (name, points, how, sides) in enumerate(_STRIPS):
        low = size[1] - (30 + (k + 1) * _STRIP_MM + k * _STRIP_GAP_MM) * mm
        _draw_strip(canvas, left, low, (name, points, how))
        _draw_feet(canvas, left + 100 * mm, low + _STRIP_MM / 2 * mm, sides)
    canvas.showPage()


def _draw_strip(canvas: Canvas, left: float, low: float, words: tuple[str, str, str]) -> None:
    """One strip, its tail at the left, the toes' bar at the right end."""
    name, points, how = words
    length, breadth = TOE_STRIP_MM * mm, _STRIP_MM * mm
    middle = low + breadth / 2
    canvas.saveState()
    canvas.setStrokeGray(0.6)
    canvas.setLineWidth(0.4)
    canvas.setDash(2, 2)
    path = canvas.beginPath()  # the tail is a right angle, so that four of them meet
    path.moveTo(left, middle)
    for x, y in ((breadth / 2, low), (length, low), (length, low + breadth), (breadth / 2, low + breadth)):
        path.lineTo(left + x, y)
    path.close()
    canvas.drawPath(path)
    canvas.restoreState()
    canvas.setFillGray(0)
    canvas.rect(left + length - _TOE_BAR_MM * mm, low, _TOE_BAR_MM * mm, breadth, stroke=0, fill=1)
    canvas.setFont("Helvetica-Bold", 24)
    canvas.drawString(left + 24 * mm, middle - 1 * mm, name)
    canvas.setFont("Helvetica", 9)
    canvas.drawString(left + 24 * mm, middle - 6.5 * mm, f"black bar {points}")
    canvas.drawString(left + 24 * mm, middle - 10.8 * mm, how)
    canvas.drawRightString(left + length - (_TOE_BAR_MM + 3) * mm, middle - 1 * mm, "toes end here")


def _draw_feet(canvas: Canvas, x: float, middle: float, sides: tuple[int, int]) -> None:
    """A small picture of the feet against the strip, toes to the right: `sides` says on which side of it each foot stands."""
    scale = 30 * mm
    canvas.saveState()
    canvas.translate(x, middle - 0.18 * scale * sum(sides))  # so that both feet lie on the strip
    canvas.setFillGray(0.85)
    canvas.rect(0.2 * scale, -0.09 * scale, 0.8 * scale, 0.18 * scale, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.rect(0.98 * scale, -0.09 * scale, 0.05 * scale, 0.18 * scale, stroke=0, fill=1)
    canvas.setStrokeGray(0.2)
    canvas.setLineWidth(0.6)
    for side in sides:
        foot_y = 0.28 * side if abs(side) == 1 else 0.35 * side
        path = canvas.beginPath()
        outline = [(s, foot_y + half) for s, half in _SOLE] + [(s, foot_y - half) for s, half in reversed(_SOLE)]
        path.moveTo(outline[0][0] * scale, outline[0][1] * scale)
        for px, py in outline[1:]:
            path.lineTo(px * scale, py * scale)
        path.close()
        canvas.drawPath(path, stroke=1, fill=0)
    canvas.restoreState()
