"""Smoothing, corners and dashes, by cases that can be drawn by hand."""

import numpy as np
import pytest
from scenes.sheets.drafted import bodice
from shapely import Polygon

from fitcheck.piece.corners import parted, settled, touching
from fitcheck.piece.dashes import SPOT_MM, dash_of, shares_of
from fitcheck.piece.size_lines import SizeLine
from fitcheck.piece.smooth import joined, smooth_line, smoothed
from fitcheck.piece.which_size import chosen_lines, sizes_seen


def test_a_straight_line_with_noise_and_one_stray_becomes_straight():
    x = np.arange(0, 200, 1.5)
    y = 0.02 * x + np.random.default_rng(1).normal(0, 0.2, len(x))
    y[60] += 5.0
    found = smoothed(y, np.ones(len(x)), 1.5, 48.0, 0.2)
    assert np.abs(found - 0.02 * x).max() < 0.2


def test_what_was_not_read_is_bridged():
    x = np.arange(0, 150, 1.5)
    weights = np.where((x > 60) & (x < 80), 0.0, 1.0)
    y = np.where(weights > 0, 0.001 * (x - 75) ** 2, 50.0)
    found = smoothed(y, weights, 1.5, 48.0, 0.2)
    assert np.abs(found - 0.001 * (x - 75) ** 2).max() < 0.1


def test_an_arc_of_an_armhole_keeps_its_radius():
    turn = np.linspace(0, np.pi / 2, 60)
    arc = 40 * np.column_stack([np.cos(turn), np.sin(turn)])
    found = smooth_line(arc, 1.5, 48.0, 0.2)
    assert np.abs(np.hypot(*found.T) - 40).max() < 0.1


def test_two_edges_meet_in_their_corner():
    one = np.column_stack([np.linspace(0, 93, 40), np.zeros(40)])
    two = np.column_stack([np.full(40, 100.0), np.linspace(7, 90, 40)])
    a, b = joined(one, two)
    np.testing.assert_allclose(a[-1], [100, 0], atol=0.05)
    np.testing.assert_allclose(b[0], [100, 0], atol=0.05)


def test_an_edge_that_runs_past_the_corner_is_cut_back():
    one = np.column_stack([np.linspace(0, 104, 50), np.zeros(50)])
    two = np.column_stack([np.full(40, 100.0), np.linspace(-3, 90, 40)])
    a, b = joined(one, two)
    np.testing.assert_allclose(a[-1], [100, 0], atol=0.05)
    np.testing.assert_allclose(b[0], [100, 0], atol=0.05)
    assert a[:, 0].max() < 100.1


def rectangle(wide, high, step=1.0):
    top = np.column_stack([np.arange(0, wide, step), np.zeros(int(wide / step))])
    right = np.column_stack([np.full(int(high / step), wide), np.arange(0, high, step)])
    return np.vstack([top, right, [wide, high] - top, [0, high] - (right - [wide, 0])])


def test_a_rectangle_has_four_corners():
    outline = rectangle(200.0, 120.0)
    stretches, covered = parted(outline, np.zeros(len(outline), bool))
    assert len(stretches) == 4
    corners = np.array([stretch[0] for stretch in stretches])
    for corner in ([0, 0], [200, 0], [200, 120], [0, 120]):
        assert np.hypot(*(corners - corner).T).min() < 5
    assert not np.concatenate(covered).any()


def test_a_round_outline_with_armhole_radius_has_no_corner_of_its_own():
    turn = np.linspace(0, 2 * np.pi, 400)[:-1]
    outline = 45 * np.column_stack([np.cos(turn), np.sin(turn)])
    stretches, _ = parted(outline, np.zeros(len(outline), bool))
    assert len(stretches) == 2  # halves, for want of corners


def test_a_hidden_corner_is_where_both_sides_go_on_to():
    outline = rectangle(200.0, 120.0)
    hidden = np.hypot(*(outline - [200, 0]).T) < 18
    bitten = outline.copy()
    bitten[hidden] = bitten[hidden] * 0.9 + [12.0, 6.0]  # a finger's edge
    stretches, covered = parted(bitten, hidden)
    corners = np.array([stretch[0] for stretch in stretches])
    assert np.hypot(*(corners - [200, 0]).T).min() < 5
    assert np.concatenate(covered).any()


def dashes(*lengths, times=12):
    pattern = []
    for k, mm in enumerate(lengths):
        pattern += [k % 2 == 0] * round(mm / SPOT_MM)
    return np.array(pattern * times)


@pytest.mark.parametrize(
    ("pattern", "kind"),
    [
        ((50.0,), "solid"),
        ((9.0, 3.0), "long"),
        ((4.0, 2.5), "short"),
        ((1.0, 2.0), "dotted"),
        ((9.0, 2.5, 1.0, 2.5), "dash_dot"),
        ((12.0, 4.0), "long"),
    ],
)
def test_dashes_are_told_apart(pattern, kind):
    assert dash_of(dashes(*pattern)) == kind


def line(dash, depth, reach=0.9):
    return SizeLine(np.zeros((4, 2)), depth, dash, 0.7, reach)


def test_sizes_are_what_is_seen_on_several_edges():
    full = [line("solid", 12), line("long", 16), line("dotted", 20)]
    assert sizes_seen([full, full, [line("solid", 12)]]) == ["solid", "long", "dotted"]
    assert sizes_seen([[line("dash_dot", 7)], [line("long", 15)], [line("long", 15)], [line("long", 15)]]) == []


def test_where_all_sizes_run_together_the_one_line_is_taken():
    together = [line("solid", 12), line("solid", 26, reach=0.4)]
    found = chosen_lines([[line("solid", 12), line("long", 16)], together], ["solid", "long"], "long")
    assert [one.depth_mm for one in found] == [16, 12]


def test_a_line_is_told_by_its_order_where_a_crossing_has_spoilt_its_dashes():
    """Solid over two thirds, then on along short dashes beyond a crossing; as a whole it looks like short dashes."""
    crossed = SizeLine(np.zeros((4, 2)), 28.0, "short", 0.9, 0.88, {"solid": 0.6, "short": 0.4})
    lines = [line("short", 18, 0.83), line("dash_dot", 23, 0.8), crossed, line("dotted", 33, 0.46)]
    for dash, depth in (("short", 18), ("dash_dot", 23), ("solid", 28), ("dotted", 33)):
        assert chosen_lines([lines], ["short", "dash_dot", "solid", "dotted"], dash)[0].depth_mm == depth


def test_the_dashes_of_parts_are_told():
    shares = shares_of(np.concatenate([dashes(100.0, times=1), dashes(1.0, 2.0, times=30)]))
    assert shares["solid"] == pytest.approx(0.5, abs=0.15)
    assert shares["dotted"] == pytest.approx(0.4, abs=0.15)


def test_two_squares_that_touch_at_a_corner_are_two_pieces_and_a_front_is_one():
    one, two = Polygon(rectangle(200.0, 200.0)), Polygon(rectangle(200.0, 200.0) + [190.0, 120.0])
    joined = np.array(one.union(two).exterior.coords)[:-1][::-1]
    assert touching(joined, np.zeros(len(joined), bool))
    for alone in (bodice("front", 1.0, 15.0, True, True).cutting_line, bodice("back", 1.0, 0.0, True, False).cutting_line):
        assert not touching(alone, np.zeros(len(alone), bool))


def test_a_corner_on_a_straight_edge_goes_to_where_the_outline_turns():
    corners = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 120.0], [0.0, 120.0]])
    astray = np.array([[0.0, 0.0], [160.0, 0.0], [200.0, 120.0], [0.0, 120.0]])
    ring = rectangle(200.0, 120.0)
    at = [0, 160, 320, 520]
    edges = [np.vstack([ring[a:b], one[None]]) for a, b, one in zip(at, [*at[1:], len(ring)], np.roll(astray, -1, axis=0), strict=True)]
    starts = np.array([edge[0] for edge in settled(edges)])
    assert np.abs(starts - corners).max() < 1.6
    right = [np.linspace(one, two, 80) for one, two in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    for edge, kept in zip(right, settled(right), strict=True):
        np.testing.assert_allclose(kept, edge)
