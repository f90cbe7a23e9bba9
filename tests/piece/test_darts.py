"""Darts drawn by hand on a sheet of 300 x 200 mm, whose right edge they open on."""

import cv2
import numpy as np
import pytest

from fitcheck.piece.darts import find_darts
from fitcheck.piece.drawn_lines import drawn_lines
from fitcheck.piece.ink import Ink
from fitcheck.piece.table import Picture

PX_PER_MM = 4
EDGE = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 200.0], [0.0, 200.0]])


def ink_of(*strokes, dash=(), hidden=None):
    """Strokes 0.5 mm wide, (dash, gap) long, but for a square (corner, corner) that something lies on."""
    dark = np.zeros((200 * PX_PER_MM, 300 * PX_PER_MM), np.uint8)
    for one, two in strokes:
        one, two = np.array(one, float), np.array(two, float)
        long = float(np.hypot(*(two - one)))
        on, off = dash or (long, 1.0)
        for start in np.arange(0.0, long, on + off):
            ends = [one + (two - one) * min(at, long) / long for at in (start, start + on)]
            px = [tuple(np.round(end * PX_PER_MM * 16).astype(int).tolist()) for end in ends]
            cv2.line(dark, *px, 255, 2, cv2.LINE_AA, 4)
    if hidden:
        (x0, y0), (x1, y1) = (np.array(corner) * PX_PER_MM for corner in hidden)
        dark[y0:y1, x0:x1] = 0
    seen = Picture(np.zeros((*dark.shape, 3), np.uint8), np.ones(dark.shape, bool), np.zeros(2), 1 / PX_PER_MM)
    return Ink(dark.astype(np.float32) / np.float32(255), seen, 0.4)


@pytest.mark.parametrize("dash", [(), (1.0, 2.0), (4.0, 2.5), (9.0, 3.0)])
@pytest.mark.parametrize("turn", [-7.3, 0.4, 3.0, 11.7])
def test_a_dart_is_found_however_it_slants_and_is_dashed(turn, dash):
    point = np.array([170.0, 100.0])
    legs = [[300.0, 100.0 + 130.0 * np.tan(np.radians(turn + sign * 5.0))] for sign in (-1, 1)]
    ink = ink_of(*[(leg, point) for leg in legs], dash=dash)
    (dart,) = find_darts(ink, drawn_lines(ink), EDGE, None)
    np.testing.assert_allclose(dart[1], point, atol=1.0)
    np.testing.assert_allclose(dart[[0, 2]], legs, atol=0.5)


def test_a_finger_on_the_edge_hides_no_dart():
    ink = ink_of(((300, 85), (190, 100)), ((300, 112), (190, 100)), hidden=((272, 78), (300, 98)))
    (dart,) = find_darts(ink, drawn_lines(ink), EDGE, None)
    np.testing.assert_allclose(dart, [[300, 85], [190, 100], [300, 112]], atol=0.5)


def test_lines_that_both_end_off_the_edge_are_no_dart():
    ink = ink_of(((270, 85), (190, 100)), ((270, 112), (190, 100)))
    assert find_darts(ink, drawn_lines(ink), EDGE, None) == ()


def test_of_nested_darts_that_of_the_chosen_size_is_taken():
    solid = ink_of(((300, 80), (180, 96)), ((300, 108), (180, 96)))
    short = ink_of(((300, 86), (186, 101)), ((300, 114), (186, 101)), dash=(4.0, 2.5))
    both = Ink(np.maximum(solid.dark, short.dark), solid.picture, 0.4)
    for dash, point in (("solid", (180, 96)), ("short", (186, 101))):
        (dart,) = find_darts(both, drawn_lines(both), EDGE, dash)
        np.testing.assert_allclose(dart[1], point, atol=1.0)
