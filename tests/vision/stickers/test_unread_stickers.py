"""Stickers that do not decode: read by their pattern on drawn ground, each only where its point can be."""

import cv2
import numpy as np
import pytest
from vision.printed import at, lying, paste, printed_sticker

from fitcheck.core.points import MARKED_POINTS
from fitcheck.vision.stickers import unread_stickers
from fitcheck.vision.stickers.pattern_fit import StickerFit, fit_sticker, shape_from_corners
from fitcheck.vision.stickers.unread_stickers import READ_MATCH, Canvas, Where, keep_if_better, read_pattern, shoulder_by_elimination

SQUARE = ((-12.5, 12.5), (12.5, 12.5), (12.5, -12.5), (-12.5, -12.5))
# Seen from her right at 1 px a mm: shoulders 400 px above the hips.
FROM_RIGHT = Where("right", np.array([100.0, 100.0]), np.array([100.0, 500.0]))


def test_every_named_point_has_its_usual_height():
    assert {point.name for point in MARKED_POINTS.values()} == unread_stickers.USUAL_HEIGHT.keys()


def canvas_with(*stickers: tuple[int, tuple[float, float], float], faint: float = 1.0) -> Canvas:
    """Stickers (id, middle, tilt) at 1.1 px a mm on plain grey; `faint` leaves that share of their contrast."""
    rgb = np.full((600, 300, 3), 150.0)
    for number, middle, tilt in stickers:
        rgb = paste(rgb, printed_sticker(number), lying(middle, 1.1, tilt_deg=tilt))
    rgb = 150 + faint * (rgb - 150) + np.random.default_rng(4).normal(0, 1.5, rgb.shape)
    return Canvas(cv2.cvtColor(np.clip(rgb, 0, 255).astype(np.uint8), cv2.COLOR_RGB2GRAY), 1.0, 1.1)


def start(middle: tuple[float, float], tilt: float, quarters: int = 0) -> np.ndarray:
    """Corners as a detector proposes them: half a pixel off, and not knowing which way is up."""
    corners = np.array([at(lying(middle, 1.1, tilt_deg=tilt), *corner) for corner in SQUARE])
    return shape_from_corners(np.roll(corners, quarters, axis=0) + np.random.default_rng(1).normal(0, 0.5, (4, 2)))


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
@pytest.mark.parametrize(("number", "down"), [(31, 0.7), (33, 1.0), (25, 0.0)])
def test_a_sticker_is_read_whichever_way_its_square_was_proposed(number, down, quarters):
    """31, 33 and 25: her right waist, hip and shoulder, at seven tenths of the way to the hips, at the hips, at the shoulders."""
    middle = (120.4, 100 + 400 * down)
    found = {}
    read_pattern(canvas_with((number, middle, 60)), start(middle, 60, quarters), found, FROM_RIGHT)
    ((key, (fit, decoded)),) = found.items()
    assert (key, decoded) == (number, False)
    assert fit.centre_px == pytest.approx(middle, abs=0.3)
    assert fit.at(np.array([[0.0, 15.5]]))[0, 1] < middle[1]  # its top is up


@pytest.mark.parametrize(("number", "down"), [(31, 0.0), (25, 1.0), (30, 0.7)])
def test_not_where_its_point_cannot_be(number, down):
    """The waist's on the shoulder, the shoulder's on the hip, and her left waist seen from the right."""
    middle = (120.0, 100 + 400 * down)
    found = {}
    read_pattern(canvas_with((number, middle, 60)), start(middle, 60), found, FROM_RIGHT)
    assert number not in found


def test_where_a_point_may_show():
    def may(number, down):
        return FROM_RIGHT.may_show(number, np.array([100.0, 100 + 400 * down]))

    assert MARKED_POINTS[31].side == "wearer_right"
    assert may(31, 0.7)
    assert not may(30, 0.7)  # her left side is away from the camera
    assert may(34, 1.0)  # the seat lies on the midline
    assert not may(34, 0.5)


def test_a_much_fainter_square_than_the_stickers_is_none():
    known = StickerFit(33, start((60, 500), 0), 0.1, 0.95, 800.0)
    found = {33: (known, True)}
    read_pattern(canvas_with((31, (120, 380), 60), faint=0.5), start((120, 380), 60), found, FROM_RIGHT)
    assert found.keys() == {33}


def test_the_better_fit_of_an_id_is_kept_and_stays_decoded():
    shape = start((100, 100), 0)
    good, better, poor, faint = (
        StickerFit(31, shape, 0.1, match, light) for match, light in ((0.85, 200), (0.9, 200), (0.7, 200), (0.99, 20))
    )
    found = {}
    for fit in (poor, faint):
        keep_if_better(found, fit, True, READ_MATCH)
    assert found == {}
    keep_if_better(found, good, True, READ_MATCH)
    keep_if_better(found, better, False, READ_MATCH)
    assert found[31] == (better, True)
    keep_if_better(found, good, True, READ_MATCH)
    assert found[31][0] is better


@pytest.mark.parametrize("neck_read", [True, False])
def test_a_frame_beside_a_neck_sticker_that_was_read_is_the_shoulders(neck_read):
    """23 and 25: her right neck and shoulder. Without the neck's nothing says that she wears stickers there."""
    at_neck, at_shoulder = (100, 70), (180, 110)
    canvas = canvas_with((23, at_neck, 40), (25, at_shoulder, 72))
    neck = fit_sticker(canvas.gray, 23, start(at_neck, 40))
    found = {23: (neck, True)} if neck_read else {}
    shoulder_by_elimination(canvas, [start(at_shoulder, 72)], found, "wearer_right", neck.contrast)
    assert (25 in found) == neck_read
    if neck_read:
        assert found[25][0].centre_px == pytest.approx(at_shoulder, abs=0.6)


def test_the_neck_sticker_itself_is_not_taken_for_the_shoulders():
    canvas = canvas_with((23, (100, 70), 40))
    found = {23: (fit_sticker(canvas.gray, 23, start((100, 70), 40)), True)}
    shoulder_by_elimination(canvas, [start((100, 70), 40)], found, "wearer_right", 200.0)
    assert found.keys() == {23}
