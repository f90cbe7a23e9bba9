"""The two printed pages that say how to set up: a picture for each step; what to wear, stickers, seam lines, cautions."""

from collections.abc import Callable
from typing import NamedTuple

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from fitcheck.report.print import setup_pictures as pictures

# Distances, heights and colours below: common practice, and the limits of what the program can measure.
_STEPS: tuple[tuple[str, str, Callable[[Canvas], None]], ...] = (
    (
        "1  Print and measure",
        "Print every page at 100 % (actual size) on one printer. Lay a ruler along the long bar of a floor sheet and note its "
        "length in millimetres to a quarter (1/100 in; 1 in is 25.4 mm), even if it is 254 mm: you will tell it to fitcheck.",
        pictures.print_and_measure,
    ),
    (
        "2  Lay the floor sheets",
        "Where you will stand, lay both sheets flat, half a metre apart, arrows to the camera. Cut out the toe strips and lay them "
        "between as a star: FRONT to the camera. <b>Tape all corners down.</b> On a carpet put card under the sheets.",
        pictures.lay_the_sheets,
    ),
    (
        "3  Hang the scale card, if you can",
        "Tape it to a shut door, its frame or the wall, waist to chest high, beside you in the picture, not behind you and not in "
        "your shadow. It need not hang plumb; it must stay where it is. Without it the floor sheets do.",
        pictures.hang_the_card,
    ),
    (
        "4  Set the camera",
        "Phone upright on a shelf or tripod, waist to chest high, main lens, no zoom, no portrait effect. Tilt it so that head "
        "and feet show. Leave it there; self-timer, or a helper who stays out of the picture.",
        pictures.set_the_camera,
    ),
    (
        "5  Light",
        "Much light from the camera's side and even on floor and you: a bright window, or all lamps. No flash, no sun in stripes, no "
        "window behind you.",
        pictures.light_the_room,
    ),
    (
        "6  Stand and turn",
        "Stand at the strip of each photo, toes level with its black bar; for the sides <b>behind</b> it, the near foot along it. "
        "As always, eyes ahead, arms straight, a hand's width clear of the side seams; for the sides, hands behind the seat.",
        pictures.stand_and_turn,
    ),
    (
        "7  Look at the first photo",
        "Head, feet and both sheets are in it, sharp, and nothing covers the squares. Then take the others without moving camera, "
        "sheets or card.",
        pictures.what_the_picture_shows,
    ),
    (
        "8  Four photos into fitcheck",
        "Right means: your right side to the camera. Use the camera's original files, not copies from a messenger: all four into "
        "the page, or into one folder. Tell the length that you measured.",
        pictures.four_photos,
    ),
)
_LEFT_COLUMN = (
    (
        "Dress and pin",
        "Wear close-fitting clothes and the bra you will wear under the garment; tie up long hair so that the neck shows. Pin "
        "the pattern on its <b>seam lines</b>, pins pointing down, and try it on. A half pattern goes on your right side and "
        "must reach both centres. <b>Tie a narrow elastic round your waist</b>, over the pattern, and let it settle: it shows where "
        "your waist is.",
    ),
    (
        "Draw the seams",
        "Go over every seam line with a strong felt pen or 3-5 mm tape, <b>one colour a seam</b>, each clearly different from "
        "the cloth or paper and from your skin: shoulder blue, side green, waist orange, princess or dart purple, centre front "
        "and centre back red. On cloth of such a colour take another. Draw a bar across the bust "
        "mark.",
    ),
)
_RIGHT_COLUMN = (
    (
        "Stick on the markers",
        "Feel for the bone, then stick the marker on top of the pattern (see the figures). <b>Point stickers</b>: the middle "
        "lies on the point. <b>Pointer stickers</b>, for points seen edge-on: the arrow's tip lies on the point and the square "
        "lies flat where the camera sees it - on the upper arm pointing up at the shoulder point, on the neck pointing down at "
        "the side neck, above the bust pointing down at it. Never both for one point. Keep them flat and off the seam lines. "
        "Left and right are your own. Needed most: back neck, side neck, shoulder and bust points, waist, hip side.",
    ),
    (
        "Cautions",
        "Mind pins and rotary cutters. Step on no loose paper and turn with steady footing. fitcheck measures how clothes fit; "
        "it is no medical device. A height loss of about 2 cm or more between fittings (4 cm since young adulthood), a quickly "
        "growing curve of the upper back, new asymmetry or pain: see a doctor or physiotherapist. Your photos stay on this "
        "computer.",
    ),
)
_OLD_WAY = (
    "<b>No room on the floor?</b> The scale card alone does too, less exactly: on stiff board, plumb and square to the camera, half a "
    "metre beside you, <b>level with your side seam</b>, at best on a pole with a flat, square-cut foot that shows; or measure from the "
    "floor to the card's lowest squares, and tell how high they are."
)

_HEAD_STYLE = ParagraphStyle("head", fontName="Helvetica-Bold", fontSize=10.5, leading=13)
_TEXT_STYLE = ParagraphStyle("text", fontName="Helvetica", fontSize=9.4, leading=11.6)
_MARGIN = 13 * mm
_GUTTER = 8 * mm


class _Spot(NamedTuple):
    """Where a sticker goes on a figure: its place in figure units, its name and the name's height, and for pointers the arrow's tip."""

    x: float
    y: float
    label: str
    label_y: float
    toward: tuple[float, float] | None = None


# Figure units: 100 = from crown to hip; x from the middle; a seven-and-a-half-heads figure (common practice).
_HEAD = (0.0, 88.0, 7.0, 10.0)  # middle x, y, half width, half height
_OUTLINE_FRONT = (
    (4, 79), (5, 73), (19, 67), (22, 62), (28, 40), (31, 20), (28, 19), (23, 38), (19, 55), (18, 50), (14, 34), (18, 14), (19, 0),
)  # fmt: skip
_OUTLINE_SIDE = (
    (-4, 79), (-6, 72), (-12, 62), (-11, 50), (-7, 34), (-13, 16), (-10, 0), (9, 0), (11, 14), (9, 32), (15, 51), (9, 64), (5, 71), (4, 78),
)  # fmt: skip
_FRONT_SPOTS = (
    _Spot(0, 69, "front neck point", 79),
    _Spot(-24, 55, "shoulder point", 66, (-20.5, 65)),
    _Spot(-9, 60, "bust point", 56, (-9, 51)),
    _Spot(-9, 46, "garment bust mark", 46),
    _Spot(0, 34, "waist front", 36),
    _Spot(-14, 34, "waist side", 27),
    _Spot(-17.5, 13, "hip side", 13),
)
_BACK_SPOTS = (
    _Spot(4.5, 80, "side neck point", 84, (5.5, 73)),
    _Spot(0, 63, "back neck point", 73, (0, 71)),
    _Spot(10, 56, "shoulder blade", 58),
    _Spot(0, 34, "waist back", 36),
    _Spot(0, 10, "seat", 10),
)
_SIDE_SPOTS = (
    _Spot(0, 80, "side neck point", 84, (-1, 72)),
    _Spot(-2, 54, "shoulder point", 68, (-1, 65)),
    _Spot(1, 47, "underarm point", 47),
    _Spot(0, 34, "waist side", 34),
    _Spot(-1, 12, "hip side", 12),
)

# Millimetres across the page: labels stand left of the front view, right of the others.
_SCALE_MM = 0.70
_FIGURES = (
    ("front", 59.0, -34.0, _OUTLINE_FRONT, True, _FRONT_SPOTS),
    ("right side", 96.0, 18.0, _OUTLINE_SIDE, False, _SIDE_SPOTS),
    ("back", 155.0, 34.0, _OUTLINE_FRONT, True, _BACK_SPOTS),
)


def draw_setup_pages(canvas: Canvas, size: tuple[float, float]) -> None:
    """Draw both pages, each ended.

    Parameters
    ----------
    canvas : Canvas
    size : (float, float)
        Width and height of the paper in points.
    """
    _draw_steps(canvas, size)
    _draw_wearing(canvas, size)


def _draw_steps(canvas: Canvas, size: tuple[float, float]) -> None:
    width, height = size
    _draw_title(canvas, size, "How to photograph a fitting: the room")
    column = (width - 2 * _MARGIN - _GUTTER) / 2
    row = (height - 21 * mm - 19 * mm) / 4
    for k, (heading, text, draw) in enumerate(_STEPS):
        x, top = _MARGIN + k % 2 * (column + _GUTTER), height - 21 * mm - k // 2 * row
        canvas.saveState()
        canvas.translate(x + (column - pictures.WIDTH_MM * mm) / 2, top - pictures.HEIGHT_MM * mm)
        draw(canvas)
        canvas.restoreState()
        _draw_column(canvas, ((heading, text),), x, top - (pictures.HEIGHT_MM + 1.5) * mm, column)
    words = Paragraph(_OLD_WAY, _TEXT_STYLE)
    _, high = words.wrap(width - 2 * _MARGIN, 20 * mm)
    words.drawOn(canvas, _MARGIN, 19 * mm - high)
    canvas.showPage()


def _draw_title(canvas: Canvas, size: tuple[float, float], title: str) -> None:
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 15)
    canvas.drawString(_MARGIN, size[1] - 15 * mm, title)


def _draw_wearing(canvas: Canvas, size: tuple[float, float]) -> None:
    width, height = size
    _draw_title(canvas, size, "How to photograph a fitting: you and the pattern")
    column = (width - 2 * _MARGIN - _GUTTER) / 2
    top = height - 21 * mm
    _draw_column(canvas, _LEFT_COLUMN, _MARGIN, top, column)
    _draw_column(canvas, _RIGHT_COLUMN, _MARGIN + column + _GUTTER, top, column)
    for title, x_mm, label_x, outline, mirrored, spots in _FIGURES:
        canvas.saveState()
        canvas.translate(x_mm * mm, 60 * mm)
        canvas.scale(_SCALE_MM * mm, _SCALE_MM * mm)
        _draw_figure(canvas, title, outline, mirrored)
        for spot in spots:
            _draw_spot(canvas, spot, label_x)
        canvas.restoreState()
    canvas.setFont("Helvetica", 7.5)
    canvas.setFillGray(0.3)
    canvas.drawCentredString(
        width / 2,
        50 * mm,
        "Squares are stickers; a line with a dot makes it a pointer sticker, its tip at the dot. Mark paired points on both sides.",
    )
    canvas.showPage()


def _draw_column(canvas: Canvas, sections: tuple[tuple[str, str], ...], x: float, top: float, width: float) -> None:
    y = top
    for heading, text in sections:
        for words, style, gap in ((heading, _HEAD_STYLE, 0.5 * mm), (text, _TEXT_STYLE, 2.5 * mm)):
            paragraph = Paragraph(words, style)
            _, height = paragraph.wrap(width, y)
            paragraph.drawOn(canvas, x, y - height)
            y -= height + gap


def _draw_figure(canvas: Canvas, title: str, outline: tuple[tuple[float, float], ...], mirrored: bool) -> None:
    canvas.setLineWidth(0.7)
    canvas.setStrokeGray(0.35)
    canvas.setFillGray(0.93)
    middle_x, middle_y, half_width, half_height = _HEAD
    points = [*outline, *((-x, y) for x, y in reversed(outline))] if mirrored else list(outline)
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    path.close()
    canvas.drawPath(path, stroke=1, fill=1)
    if not mirrored:  # seen from her right she faces right: head forward, with a nose
        middle_x += 3
        canvas.line(middle_x + half_width - 0.5, middle_y + 2, middle_x + half_width + 2, middle_y - 2)
        canvas.line(middle_x + half_width + 2, middle_y - 2, middle_x + half_width - 0.7, middle_y - 2.6)
    canvas.ellipse(middle_x - half_width, middle_y - half_height, middle_x + half_width, middle_y + half_height, stroke=1, fill=1)
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold", 4.4)
    canvas.drawCentredString(0, 100.5, title)


def _draw_spot(canvas: Canvas, spot: _Spot, label_x: float) -> None:
    canvas.setLineWidth(0.3)
    canvas.setStrokeGray(0.6)
    canvas.line(spot.x, spot.y, label_x - (1 if label_x > 0 else -1), spot.label_y + 1.2)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    if spot.toward is not None:
        canvas.setLineWidth(0.9)
        canvas.line(spot.x, spot.y, *spot.toward)
        canvas.circle(*spot.toward, 1.0, stroke=0, fill=1)
    canvas.rect(spot.x - 1.8, spot.y - 1.8, 3.6, 3.6, stroke=0, fill=1)
    canvas.setFillGray(1)
    canvas.rect(spot.x - 0.7, spot.y - 0.7, 1.4, 1.4, stroke=0, fill=1)
    canvas.setFillGray(0)
    canvas.setFont("Helvetica", 4)
    (canvas.drawString if label_x > 0 else canvas.drawRightString)(label_x, spot.label_y, spot.label)
