"""Nested sizes with something lying on them, drawn by hand: three squares one in another, dashed, a corner hidden or not."""

import cv2
import numpy as np
import pytest
from scenes.sheets.drafted import bodice
from shapely import LineString, Point, Polygon

from fitcheck.piece.bridged import CORNER_SHARE, bridged_stretches, hidden_note
from fitcheck.piece.corners import HIDDEN_MARGIN_MM, parted
from fitcheck.piece.cover import Cover
from fitcheck.piece.grading import graded_lines
from fitcheck.piece.ink import MM_PER_PX, Ink
from fitcheck.piece.outer_line import outer_line
from fitcheck.piece.size_lines import SizeLine
from fitcheck.piece.table import Picture

SIDE = 260.0
GRADE = 10.0
DASHES = {"long": (9.0, 3.0), "short": (4.0, 2.5), "dotted": (1.0, 2.0)}
SHEET = np.array([[5.0, 5.0], [SIDE - 5, 5.0], [SIDE - 5, SIDE - 5], [5.0, SIDE - 5]])


def square(size):
    """Grows to the right and up only, as a half piece does: clockwise as seen, from the left upper corner."""
    right, top = 200.0 + GRADE * size, 60.0 - GRADE * size
    return np.array([[30.0, top], [right, top], [right, 230.0], [30.0, 230.0]])


def cover_of(low, high):
    """Something that lies on a box of the table, on a raster of 2 mm."""
    y, x = np.mgrid[: int(SIDE / 2), : int(SIDE / 2)] * 2.0
    return Cover((x >= low[0]) & (x <= high[0]) & (y >= low[1]) & (y <= high[1]), np.zeros(2), 2.0)


def sheet(cover=None):
    """Sizes 2, 1 and 0 from the outermost inwards, dashed long, short and dotted; nothing is seen beneath the cover."""
    dark = np.zeros((int(SIDE / MM_PER_PX),) * 2, np.float32)
    for size, dash in zip((2, 1, 0), DASHES, strict=True):
        corners = square(size)
        path, at, k = LineString(np.vstack([corners, corners[:1]])), 0.0, 0
        while at < path.length:
            end = min(at + DASHES[dash][k % 2], path.length)
            if k % 2 == 0:
                spots = np.array([path.interpolate(s).coords[0] for s in np.arange(at, end + 0.01, 0.25)])
                px = np.round(spots / MM_PER_PX * 16).astype(np.int32).reshape(-1, 1, 2)
                cv2.polylines(dark, [px], False, 1.0, 2, cv2.LINE_AA, 4)
            at, k = end, k + 1
    dark = cv2.GaussianBlur(dark, (0, 0), 0.6)
    if cover is not None:
        dark[cover.over(dark.shape, np.zeros(2), MM_PER_PX)] = 0.0
    rgb = np.zeros((*dark.shape, 3), np.uint8)
    return Ink(dark, Picture(rgb, np.ones(dark.shape, bool), np.zeros(2), MM_PER_PX), 0.5, cover)


def far(points, true):
    ring = LineString(np.vstack([true, true[:1]]))
    return np.array([ring.distance(Point(*p)) for p in points])


def even(one, two):
    return np.linspace(one, two, max(4, round(float(np.hypot(*(two - one))) / 2.0)))


def test_a_cover_lies_where_it_was_laid_on_any_raster():
    cover = cover_of((100.0, 40.0), (140.0, 60.0))
    assert cover.at(np.array([[120.0, 50.0], [120.0, 80.0], [-50.0, 50.0], [900.0, 900.0]])).tolist() == [True, False, False, False]
    fine = cover.over((1040, 1040), np.zeros(2), 0.25)
    assert fine.sum() * 0.25**2 == pytest.approx(42 * 22, rel=0.05)
    assert fine[200, 480]
    assert not cover.over((40, 40), np.array([400.0, 400.0]), 0.25).any()


@pytest.mark.parametrize("hand", [None, ((190.0, 20.0), (240.0, 70.0))])
def test_the_outermost_line_is_found_though_a_hand_lies_on_its_corner(hand):
    cover = None if hand is None else cover_of(*hand)
    line, unseen = outer_line(sheet(cover), SHEET)
    beside = np.array([far([place], square(2))[0] for place in line[~unseen]])
    clear = np.ones(len(beside), bool) if hand is None else ~cover_of(np.array(hand[0]) - 4, np.array(hand[1]) + 4).at(line[~unseen])
    assert beside[clear].max() < 1.6
    assert unseen.any() == (hand is not None)
    edges, _ = parted(line, unseen, 6.0)
    starts = np.array([edge[0] for edge in edges])
    for corner in square(2):
        assert np.hypot(*(starts - corner).T).min() < 4.0
    assert len(edges) == 4


def test_lines_that_enclose_nothing_are_no_outermost_line():
    blank = sheet()
    half = Ink(np.where(np.arange(blank.dark.shape[0])[:, None] < 480, blank.dark, 0).astype(np.float32), blank.picture, 0.5)
    assert outer_line(half, SHEET) is None


def lines_of(size, stop):
    """A square's four sides as lines; the upper one and the right one end before their common corner."""
    a, b, c, d = square(size)
    short = np.array([stop, 0.0])
    pieces = [even(a, b - short), even(b + short[::-1], c), even(c, d), even(d, a)]
    dash = tuple(DASHES)[2 - size]
    return [SizeLine(piece, 0.0, dash, 0.6, 1.0, {dash: 1.0}) for piece in pieces]


@pytest.mark.parametrize("rank", [0, 1, 2])
def test_a_corner_hidden_in_one_size_lies_on_the_line_of_the_others(rank):
    """The corners move by (10, -10) a size, so a dressmaker lays her ruler through two of them."""
    true = square(2 - rank)
    cover = cover_of(true[1] - [7.0, 5.0], true[1] + [5.0, 7.0])
    by_size = [lines_of(size, 36.0 if 2 - size == rank else 0.0) for size in (2, 1, 0)]
    bent = by_size[rank][0].points.copy()
    bent[-8:, 1] += np.linspace(0.0, 7.0, 8)  # a line that seemed to go on along the next size
    by_size[rank][0] = SizeLine(bent, 0.0, by_size[rank][0].dash, 0.6, 1.0, by_size[rank][0].shares)
    parts = [edge.points for edge in lines_of(2, 0.0)]
    found = graded_lines(sheet(cover), parts, by_size, rank, ())
    assert np.hypot(*(found[0].points[-1] - true[1])) < 1.0
    assert np.hypot(*(found[1].points[0] - true[1])) < 1.0


def test_where_all_is_seen_nothing_is_moved():
    by_size = [lines_of(size, 0.0) for size in (2, 1, 0)]
    parts = [edge.points for edge in by_size[0]]
    assert graded_lines(sheet(), parts, by_size, 1, ()) == by_size[1]


def test_two_sizes_foretell_nothing():
    by_size = [lines_of(size, 30.0) for size in (1, 0)]
    parts = [edge.points for edge in lines_of(1, 0.0)]
    assert graded_lines(sheet(), parts, by_size, 0, ()) == by_size[0]


def test_a_hidden_stretch_is_told_with_its_length_and_doubt():
    corners = square(2)
    edges = [even(one, two) for one, two in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    middle, corner = cover_of((100.0, 20.0), (130.0, 60.0)), cover_of((200.0, 20.0), (240.0, 70.0))
    (straight,) = bridged_stretches(sheet(middle), edges, True)
    (turned,) = bridged_stretches(sheet(corner), edges, True)
    assert len(straight.points) == pytest.approx(32, abs=5)
    assert straight.doubt_mm == pytest.approx(32**2 / 1200, abs=0.4)
    assert turned.doubt_mm > 4 * straight.doubt_mm
    assert bridged_stretches(sheet(), edges, True) == ()
    assert "mm, was hidden" in hidden_note([straight])
    assert f"{turned.doubt_mm:.1f} mm off" in hidden_note([straight, turned])


def test_an_even_bend_beneath_a_hand_is_no_corner():
    turn = np.linspace(0, 2 * np.pi, 700)[:-1]
    circle = 90.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    off = np.abs(turn - np.pi / 2) / 0.4
    hidden = off < 1  # 72 mm, over which the circle turns by 46 degrees
    bitten = circle * np.where(hidden, 0.9 + 0.1 * off**4, 1.0)[:, None]  # a finger's edge
    edges, _ = parted(bitten, hidden)
    assert len(edges) == 2  # as many as any smooth outline is parted in
    assert np.abs(np.hypot(*np.vstack(edges).T) - 90).max() < 1.5


@pytest.mark.parametrize("wide_mm", [14.0, 20.0, 28.0])
@pytest.mark.parametrize("name", ["neck", "shoulder", "armhole", "side", "waist", "centre"])
def test_a_hand_on_a_bodices_corner_leaves_an_outline_that_never_turns_back(name, wide_mm):
    piece = bodice("front", 1.0, 0.0, False, False)
    ring = LineString(np.vstack([piece.cutting_line, piece.cutting_line[:1]]))
    outline = np.array([ring.interpolate(s).coords[0] for s in np.arange(0.0, ring.length, 1.0)])
    corner = piece.edges[name][0]
    hidden = np.hypot(*(outline - corner).T) < wide_mm
    bitten = outline + np.where(hidden, 6.0 * (1 - (np.hypot(*(outline - corner).T) / wide_mm) ** 2), 0.0)[:, None] * [0.6, 0.8]
    edges, _ = parted(bitten, hidden)
    found = np.vstack([edge[:-1] for edge in edges])
    assert Polygon(found).is_valid
    doubt = CORNER_SHARE * 2 * (wide_mm + HIDDEN_MARGIN_MM)  # what is told of a stretch so long
    assert np.hypot(*(np.array([edge[0] for edge in edges]) - corner).T).min() < doubt
