"""What is done to one line on paper, by hand: y points down."""

import math

import numpy as np
import pytest

from fitcheck.pattern.lines import (
    at_x,
    curve,
    dense,
    drag,
    line,
    nearest_along,
    part,
    path_length,
    point_at,
    rotated,
    smoothed,
    solve,
    steps_along,
    stretched,
    turn_between,
    unit,
)

HOOK = line((0, 0), (30, 0), (30, 40))  # 30 to the right, then 40 down


def test_lengths_along_a_line():
    assert path_length(HOOK) == 70
    assert steps_along(HOOK).tolist() == pytest.approx([0, 3 / 7, 1])
    assert point_at(HOOK, 50).tolist() == [30, 20]
    assert part(HOOK, 10, 40).tolist() == [[10, 0], [30, 0], [30, 10]]
    assert nearest_along(HOOK, np.array([45.0, 15.0])) == 45
    assert at_x(HOOK, 12) == 12
    assert at_x(HOOK, 200) == 70
    assert at_x(HOOK, -5) == 0


def test_turning_is_clockwise_on_paper():
    """From the right downwards, as a clock's hand goes from three to six."""
    (turned,) = rotated(line((10, 0)), math.pi / 2, np.zeros(2))
    assert turned == pytest.approx([0, 10], abs=1e-9)
    assert turn_between(np.array([1.0, 0.0]), np.array([0.0, 1.0])) == pytest.approx(math.pi / 2)
    assert turn_between(np.array([1.0, 0.0]), np.array([0.0, -1.0])) == pytest.approx(-math.pi / 2)


def test_a_curve_leaves_its_ends_towards_the_control_point():
    """A quadratic Bezier curve: its middle is a quarter of both ends and half of the control point."""
    bent = curve(np.array([0.0, 0.0]), np.array([10.0, 0.0]), np.array([10.0, 10.0]))
    assert bent[[0, -1]].tolist() == [[0, 0], [10, 10]]
    assert bent[len(bent) // 2] == pytest.approx([7.5, 2.5])


def test_an_end_dragged_takes_what_lies_near_it_along():
    flat = line((0, 0), (50, 0), (100, 0))
    assert drag(flat, np.array([0.0, 8.0]), -1).tolist() == [[0, 0], [50, 2], [100, 8]]  # half way a quarter of it
    assert drag(flat, np.array([0.0, 8.0]), 0).tolist() == [[0, 8], [50, 2], [100, 0]]
    assert drag(line((0, 0), (100, 0)), np.array([0.0, 8.0]), -1).tolist() == [[0, 0], [100, 8]]


def test_a_line_made_longer_goes_on_as_it_ended_and_made_shorter_is_cut_back():
    assert stretched(HOOK, 85).tolist() == [[0, 0], [30, 0], [30, 55]]
    assert stretched(HOOK, 50).tolist() == [[0, 0], [30, 0], [30, 20]]
    assert stretched(HOOK, 80, 0).tolist() == [[-10, 0], [30, 0], [30, 40]]


def test_a_bend_is_rounded_and_its_ends_stay():
    round_ = smoothed(HOOK, np.array([30.0, 0.0]))
    assert round_[[0, -1]].tolist() == [[0, 0], [30, 40]]
    assert path_length(round_) < 70
    assert np.hypot(*(dense(HOOK, 6.0) - [30, 0]).T).min() == 0
    assert np.hypot(*(round_ - [30, 0]).T).min() > 2


def test_a_rounded_bend_has_no_corner_where_the_rounding_ends():
    """A quarter circle of 100 mm in chords of 6 mm bends by 3.5 degrees at each; drawn smooth about its middle it bends nowhere by more."""
    angles = np.linspace(0, np.pi / 2, 27)
    arc = 100 * np.column_stack([np.sin(angles), 1 - np.cos(angles)])
    turns = np.degrees(np.diff(np.unwrap(np.arctan2(*np.diff(smoothed(arc, arc[13]), axis=0).T[::-1]))))
    assert np.abs(turns).max() < 3.6


def test_a_direction_has_length_one():
    assert unit(np.array([3.0, -4.0])).tolist() == [0.6, -0.8]


def test_the_smallest_change_that_leaves_nothing_over():
    assert solve(lambda x: x - 12.5) == pytest.approx(12.5)
    assert solve(lambda x: x + 3) == pytest.approx(-3)
    assert solve(lambda x: 0.0) == 0.0
