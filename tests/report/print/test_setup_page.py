"""The printed pages of how to set up: all of it lies on the paper, on either size."""

import io
import re

import pytest
from reportlab import rl_config
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from fitcheck.report.print.setup_page import draw_setup_pages


class Ruler(Canvas):
    """Notes where every word that is drawn lies, in points from the lower left corner."""

    def __init__(self, *args, **options):
        super().__init__(*args, **options)
        self.steps, self.words = [], []  # of the first page, and of the second with the figures

    def note(self, text, x, y, left):
        wide = self.stringWidth(text, self._fontname, self._fontsize)
        words = (text, *self.absolutePosition(x - left * wide, y), *self.absolutePosition(x + (1 - left) * wide, y))
        (self.words if self.getPageNumber() == 2 else self.steps).append(words)

    def drawString(self, x, y, text, *args, **options):
        self.note(text, x, y, 0.0)
        super().drawString(x, y, text, *args, **options)

    def drawRightString(self, x, y, text, *args, **options):
        self.note(text, x, y, 1.0)
        super().drawRightString(x, y, text, *args, **options)

    def drawCentredString(self, x, y, text, *args, **options):
        self.note(text, x, y, 0.5)
        super().drawCentredString(x, y, text, *args, **options)


@pytest.fixture(params=[A4, LETTER], ids=["a4", "letter"])
def drawn(request, monkeypatch):
    monkeypatch.setattr(rl_config, "pageCompression", 0)
    file = io.BytesIO()
    canvas = Ruler(file, pagesize=request.param)
    draw_setup_pages(canvas, request.param)
    pages = canvas.getPageNumber() - 1
    canvas.save()
    return canvas.words, file.getvalue(), request.param, pages, canvas.steps


def place(words, text):
    return [(x, y) for found, x, y, _, _ in words if found == text]


def test_two_pages_and_every_word_of_the_figures_on_them(drawn):
    words, _, (width, height), pages, steps = drawn
    assert pages == 2
    for text, left, low, right, _ in (*words, *steps):
        assert 20 < left < right < width - 20, text
        assert 15 < low < height - 15, text


def test_the_columns_end_above_the_figures(drawn):
    words, pdf, *_ = drawn
    figures = max(y for text, _, y, _, _ in words if text in ("front", "back", "right side"))
    pdf = pdf.split(b"you and the pattern")[1]  # the second page
    columns = [float(y) for y in re.findall(rb"1 0 0 1 [\d.]+ ([\d.]+) Tm", pdf)] + [
        float(y) for y in re.findall(rb"1 0 0 1 [\d.]+ ([\d.]+) cm", pdf)
    ]
    texts = [y for y in columns if y > 200]
    assert len(texts) >= 8
    assert min(texts) > figures


def test_points_stand_over_each_other_as_on_a_body(drawn):
    words, *_ = drawn
    front = [place(words, name)[0][1] for name in ("front neck point", "shoulder point", "bust point", "waist front", "hip side")]
    assert front == sorted(front, reverse=True)
    assert len(place(words, "side neck point")) == 2  # on the back and on the side view


def test_it_says_which_photos_and_that_it_is_no_doctor(drawn):
    _, pdf, *_ = drawn
    text = re.sub(rb"[^a-z.]+", b" ", b" ".join(re.findall(rb"\(((?:[^()\\]|\\.)*)\) Tj", pdf)).lower()).decode()
    for photo in ("front.jpg", "right.jpg", "back.jpg", "left.jpg"):
        assert photo in text
    assert "no medical device" in text


def test_labels_keep_off_their_figure_and_off_the_line_below(drawn):
    """The front view's words end left of it, the back view's begin right of it; all stand above the note on stickers."""
    words, *_ = drawn
    middles = {text: (left + right) / 2 for text, left, _, right, _ in words if text in ("front", "back")}
    reach = 31 * 0.70 * 72 / 25.4  # half the width of a figure with its arms
    edges = {text: (left, low, right) for text, left, low, right, _ in words}
    assert edges["front neck point"][2] < middles["front"] - reach
    assert edges["shoulder blade"][0] > middles["back"] + reach
    note = next(low for text, _, low, _, _ in words if text.startswith("Squares are stickers"))
    assert min(low for text, (_, low, _) in edges.items() if not text.startswith("Squares")) > note + 10


def test_each_step_has_its_picture_in_its_own_room(drawn):
    """Eight steps in two columns; the words in the pictures stand above their step's heading and in its column."""
    *_, (width, _), _, steps = drawn
    for text in ("25.4 cm", "50 cm (20 in)", "2.5 to 3.5 m (8 to 11 ft)", "front.jpg"):
        assert place(steps, text), text
    left_column = [x for x, _ in place(steps, "25.4 cm")]
    right_column = [x for x, _ in place(steps, "50 cm (20 in)")]
    assert max(left_column) < width / 2 < min(right_column)
