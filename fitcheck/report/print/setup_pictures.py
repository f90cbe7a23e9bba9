"""The small pictures of the page on how to set up, one for each step; each is drawn into a box of 88 x 34 mm."""

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

WIDTH_MM, HEIGHT_MM = 88.0, 34.0
Points = Sequence[tuple[float, float]]

# A foot seen from above, toes up: along it from the heel, and half its breadth there.
_FOOT = ((0.0, 0.8), (0.4, 1.1), (2.0, 0.9), (4.0, 1.2), (5.6, 1.4), (6.8, 1.1), (7.2, 0.4))
# A woman from the front, feet at 0, in hundredths of her height.
_FRONT = ((2.5, 84), (11, 80), (15, 52), (12, 51), (9.5, 70), (7.5, 62), (10, 50), (8, 25), (6.5, 3), (9, 0), (2.5, 0), (1.5, 25), (0, 45))


def print_and_measure(canvas: Canvas) -> None:
    """A floor sheet, and a ruler along its long bar."""
    _sheet(canvas, 26, 9, 36)
    _line(canvas, ((27, 6.5), (61, 6.5)), 0.4)
    for x in (27, 61):
        _line(canvas, ((x, 5.3), (x, 7.7)), 0.4)
    canvas.setFillGray(0.92)
    canvas.setStrokeGray(0.3)
    canvas.rect(24 * mm, 1 * mm, 42 * mm, 4 * mm, stroke=1, fill=1)
    for k in range(18):
        _line(canvas, ((27 + 2 * k, 5), (27 + 2 * k, 4 if k % 5 else 3)), 0.25)
    _words(canvas, 67, 6, "25.4 cm")
    _words(canvas, 67, 2.5, "= 10 in")


def lay_the_sheets(canvas: Canvas) -> None:
    """Both sheets from above, the star of toe strips between them, the camera below."""
    _sheet(canvas, 8, 15, 21)
    _sheet(canvas, 59, 15, 21)
    _star(canvas, 44, 22.5, 8.5)
    _arrow(canvas, (29, 31.5), (59, 31.5), both=True)
    _words(canvas, 44, 32.3, "50 cm (20 in)", centred=True)
    for x in (18.5, 69.5):
        _arrow(canvas, (x, 13.5), (x, 8.5))
    _words(canvas, 18.5, 5.2, "arrow to the camera", centred=True)
    _words(canvas, 69.5, 5.2, "arrow to the camera", centred=True)
    _camera_from_above(canvas, 44, 4)


def hang_the_card(canvas: Canvas) -> None:
    """She before a door frame with the card on it, the sheets beside her feet."""
    canvas.setStrokeGray(0.6)
    canvas.setFillGray(0.96)
    canvas.rect(52 * mm, 5 * mm, 18 * mm, 29 * mm, stroke=1, fill=1)
    canvas.rect(54 * mm, 5 * mm, 14 * mm, 27 * mm, stroke=1, fill=0)
    _line(canvas, ((6, 5), (82, 5)), 0.5, 0.6)
    _woman(canvas, 38, 3, 27)
    _card(canvas, 61, 17)
    _sheet_on_floor(canvas, 25)
    _sheet_on_floor(canvas, 45)


def set_the_camera(canvas: Canvas) -> None:
    """From the side: camera on a shelf, she, and the distance between."""
    _line(canvas, ((3, 3), (85, 3)), 0.5, 0.4)
    _woman(canvas, 72, 3, 27)
    canvas.setFillGray(0.85)
    canvas.setStrokeGray(0.3)
    canvas.rect(6 * mm, 3 * mm, 8 * mm, 14 * mm, stroke=1, fill=1)
    canvas.setFillGray(0.1)
    canvas.roundRect(9.2 * mm, 17 * mm, 1.6 * mm, 5 * mm, 0.5 * mm, stroke=0, fill=1)
    canvas.saveState()
    canvas.setDash(1.5, 1.5)
    for y in (31.5, 1.5):
        _line(canvas, ((11, 20), (70, y)), 0.3, 0.4)
    canvas.restoreState()
    _arrow(canvas, (14.5, 6.5), (66, 6.5), both=True)
    _words(canvas, 30.5, 3.7, "2.5 to 3.5 m (8 to 11 ft)", centred=True)
    _arrow(canvas, (4, 3.3), (4, 20), both=True)
    _words(canvas, 3, 30, "0.9 to 1.3 m (3 to 4 ft)")
    _line(canvas, ((5, 29.2), (4, 20.5)), 0.25, 0.4)


def light_the_room(canvas: Canvas) -> None:
    """From above: window and lamp behind the camera, never behind her."""
    canvas.setStrokeGray(0.4)
    canvas.rect(8 * mm, 2 * mm, 72 * mm, 30 * mm, stroke=1, fill=0)
    for x in (20, 62):
        canvas.setFillGray(0.75)
        canvas.rect(x * mm, 1.2 * mm, 10 * mm, 1.6 * mm, stroke=1, fill=1)
        for k in (-2, 0, 2):
            _arrow(canvas, (x + 5 + k, 4), (x + 5 + 2 * k + (44 - x - 5) * 0.25, 11))
    _words(canvas, 25, 12.5, "window or lamp", centred=True)
    _words(canvas, 67, 12.5, "window or lamp", centred=True)
    _camera_from_above(canvas, 44, 6)
    canvas.setFillGray(0.85)
    canvas.ellipse(39 * mm, 22 * mm, 49 * mm, 26 * mm, stroke=1, fill=1)
    canvas.circle(44 * mm, 24 * mm, 1.6 * mm, stroke=1, fill=1)
    _words(canvas, 44, 28.5, "plain wall; no window behind you", centred=True)


def stand_and_turn(canvas: Canvas) -> None:
    """Her feet on the star in the four photos, the camera below."""
    for k, (name, feet) in enumerate(
        (
            ("front", ((-2.6, 1.2, 180.0), (2.6, 1.2, 180.0))),
            ("right", ((-1.2, 2.6, -90.0), (-1.2, 6.2, -90.0))),
            ("back", ((-2.6, -1.2, 0.0), (2.6, -1.2, 0.0))),
            ("left", ((1.2, 2.6, 90.0), (1.2, 6.2, 90.0))),
        )
    ):
        x = 11.5 + 21.7 * k
        _star(canvas, x, 17, 6.2, dark=name)
        for dx, dy, turn in feet:
            _foot(canvas, x + dx, 17 + dy, turn)
        _words(canvas, x, 29, name, centred=True, bold=True)
    _camera_from_above(canvas, 44, 3)
    _words(canvas, 47, 2.2, "camera")


def what_the_picture_shows(canvas: Canvas) -> None:
    """The picture as it should be: head and feet, both sheets, room around."""
    for x, good in ((18, True), (56, False)):
        canvas.setStrokeGray(0)
        canvas.setLineWidth(0.9)
        canvas.rect(x * mm, 1 * mm, 24 * mm, 32 * mm, stroke=1, fill=0)
        canvas.saveState()
        clip = canvas.beginPath()
        clip.rect(x * mm, 1 * mm, 24 * mm, 32 * mm)
        canvas.clipPath(clip, stroke=0, fill=0)
        foot, size = (4.0, 25.0) if good else (-3.5, 31.0)
        _woman(canvas, x + 12, foot, size)
        for dx in (3.5, 15.5) if good else (1.0, 17.0):
            _sheet_on_floor(canvas, x + dx, foot + 0.6)
        canvas.restoreState()
        _words(canvas, x + 25.5, 28, "yes" if good else "no", bold=True)
        if not good:
            for k, word in enumerate(("feet", "cut", "off")):
                _words(canvas, x + 25.5, 23.5 - 3.2 * k, word)
        if not good:
            canvas.setLineWidth(1.0)
            canvas.setStrokeGray(0.35)
            canvas.line(x * mm, 1 * mm, (x + 24) * mm, 33 * mm)


def four_photos(canvas: Canvas) -> None:
    """The photos by their names, and a measured length."""
    for k, name in enumerate(("front", "right", "back", "left")):
        x = 7 + 19 * k
        canvas.setStrokeGray(0.2)
        canvas.setLineWidth(0.6)
        canvas.rect(x * mm, 11 * mm, 15 * mm, 20 * mm, stroke=1, fill=0)
        _woman(canvas, x + 7.5, 13, 16)
        _words(canvas, x + 7.5, 7.8, f"{name}.jpg", centred=True)
    canvas.setFillGray(0)
    _words(canvas, WIDTH_MM / 2, 2, "the long bar: 253.8 mm", centred=True)


def _sheet(canvas: Canvas, x: float, y: float, wide: float) -> None:
    """A floor sheet from above."""
    scale = wide / 297
    canvas.setFillGray(1)
    canvas.setStrokeGray(0.3)
    canvas.setLineWidth(0.5)
    canvas.rect(x * mm, y * mm, wide * mm, 210 * scale * mm, stroke=1, fill=1)
    for k in range(6):
        left, low = 16.5 + 92 * (k % 3), 26 + 92 * (k // 3)
        canvas.setFillGray(0.1)
        canvas.rect((x + left * scale) * mm, (y + low * scale) * mm, 80 * scale * mm, 80 * scale * mm, stroke=0, fill=1)
        canvas.setFillGray(1)
        cell = 80 / 6 * scale
        for i, j in ((1 + k % 3, 2), (3, 1 + k % 2), (4 - k % 2, 4)):
            canvas.rect((x + left * scale + i * cell) * mm, (y + low * scale + j * cell) * mm, cell * mm, cell * mm, stroke=0, fill=1)


def _sheet_on_floor(canvas: Canvas, x: float, y: float = 3.6) -> None:
    """A floor sheet as the camera sees it, 5 mm wide."""
    _fill(canvas, ((x, y), (x + 5.4, y), (x + 5, y + 1.5), (x + 0.4, y + 1.5)), 1.0, outlined=True)
    for k in range(3):
        for j in range(2):
            left, low = x + 0.55 + 1.5 * k, y + 0.2 + 0.65 * j
            _fill(canvas, ((left, low), (left + 1.2, low), (left + 1.2, low + 0.45), (left, low + 0.45)), 0.1)


def _card(canvas: Canvas, x: float, y: float) -> None:
    canvas.setFillGray(1)
    canvas.setStrokeGray(0.3)
    canvas.rect((x - 1.8) * mm, y * mm, 3.6 * mm, 5 * mm, stroke=1, fill=1)
    canvas.setFillGray(0.1)
    for k in range(12):
        canvas.rect((x - 1.35 + 1.0 * (k % 3)) * mm, (y + 0.6 + 1.0 * (k // 3)) * mm, 0.75 * mm, 0.75 * mm, stroke=0, fill=1)


def _star(canvas: Canvas, x: float, y: float, reach: float, dark: str = "") -> None:
    """The four toe strips from above, camera below; `dark` is the one she stands on."""
    half = 1.1
    for name, (dx, dy) in {"front": (0, -1), "right": (1, 0), "back": (0, 1), "left": (-1, 0)}.items():
        side = (-dy * half, dx * half)
        start = (x + dx * half, y + dy * half)
        end = (x + dx * reach, y + dy * reach)
        one_side = [(x, y), (start[0] + side[0], start[1] + side[1]), (end[0] + side[0], end[1] + side[1])]
        other_side = [(end[0] - side[0], end[1] - side[1]), (start[0] - side[0], start[1] - side[1])]
        _fill(canvas, one_side + other_side, 0.8 if name == dark else 0.97, outlined=True)
        near = (end[0] - dx * 0.8, end[1] - dy * 0.8)
        bar = tuple((p[0] + s * side[0], p[1] + s * side[1]) for p, s in ((near, 1), (end, 1), (end, -1), (near, -1)))
        _fill(canvas, bar, 0.0)


def _foot(canvas: Canvas, x: float, y: float, turn_deg: float) -> None:
    canvas.saveState()
    canvas.translate(x * mm, y * mm)
    canvas.rotate(turn_deg)
    canvas.translate(0, -1.2 * mm)
    canvas.setLineWidth(0.6)
    _fill(canvas, [(-half, along) for along, half in _FOOT] + [(half, along) for along, half in reversed(_FOOT)], 1.0, outlined=True)
    canvas.restoreState()


def _woman(canvas: Canvas, x: float, y: float, height: float) -> None:
    share = height / 100
    outline = [(x + dx * share, y + up * share) for dx, up in _FRONT] + [(x - dx * share, y + up * share) for dx, up in reversed(_FRONT)]
    _fill(canvas, outline, 0.8, outlined=True)
    canvas.ellipse((x - 4.5 * share) * mm, (y + 85 * share) * mm, (x + 4.5 * share) * mm, (y + 100 * share) * mm, stroke=1, fill=1)


def _camera_from_above(canvas: Canvas, x: float, y: float) -> None:
    canvas.setFillGray(0.1)
    canvas.roundRect((x - 2) * mm, (y - 1) * mm, 4 * mm, 1.6 * mm, 0.4 * mm, stroke=0, fill=1)
    canvas.circle(x * mm, (y + 0.9) * mm, 0.6 * mm, stroke=0, fill=1)


def _fill(canvas: Canvas, corners: Points, grey: float, outlined: bool = False) -> None:
    path = canvas.beginPath()
    path.moveTo(corners[0][0] * mm, corners[0][1] * mm)
    for x, y in corners[1:]:
        path.lineTo(x * mm, y * mm)
    path.close()
    canvas.setFillGray(grey)
    canvas.setStrokeGray(0.3)
    canvas.setLineWidth(0.4)
    canvas.drawPath(path, stroke=1 if outlined else 0, fill=1)


def _line(canvas: Canvas, ends: Points, width: float, grey: float = 0.0) -> None:
    canvas.setLineWidth(width)
    canvas.setStrokeGray(grey)
    (x0, y0), (x1, y1) = ends
    canvas.line(x0 * mm, y0 * mm, x1 * mm, y1 * mm)


def _arrow(canvas: Canvas, start: tuple[float, float], end: tuple[float, float], both: bool = False) -> None:
    _line(canvas, (start, end), 0.5)
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    ux, uy = 1.6 * dx / length, 1.6 * dy / length
    for (x, y), sign in ((end, 1), (start, -1)) if both else ((end, 1),):
        _fill(canvas, ((x, y), (x - sign * ux - uy / 2, y - sign * uy + ux / 2), (x - sign * ux + uy / 2, y - sign * uy - ux / 2)), 0.0)


def _words(canvas: Canvas, x: float, y: float, text: str, centred: bool = False, bold: bool = False) -> None:
    canvas.setFillGray(0)
    canvas.setFont("Helvetica-Bold" if bold else "Helvetica", 7.5)
    (canvas.drawCentredString if centred else canvas.drawString)(x * mm, y * mm, text)
