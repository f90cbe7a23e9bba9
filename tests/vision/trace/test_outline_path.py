"""The course of an outline: over pen lines and gaps, broken where told, the cheapest of all courses."""

import itertools

import numpy as np
import pytest

from fitcheck.vision.trace.outline_path import BAND, BEND_MM, LEAP, PLACE_MM, REACH, _totals, follow_outlines

ROWS = np.arange(20.0, 180.0, 5.0)


def picture(line=None, faint=None):
    """Cloth left of column 100.4, wall right of it, 1 px = 1 mm; a pen line before the edge, rows in which cloth has the wall's colour."""
    x = np.arange(200)
    rgb = np.repeat(np.where(x < 100.4, 120, 200)[None, :, None], 200, axis=0).repeat(3, axis=2).astype(np.uint8)
    if faint is not None:
        rgb[faint[0] : faint[1]] = 200
    if line is not None:
        rgb[:, line : line + 3] = [250, 10, 10]
    return rgb


def right_side(rgb, border=94.0, whole=None):
    """Columns and spreads of the right outline."""
    points = np.stack([np.full(len(ROWS), border), ROWS], axis=1)[None]
    outwards, along = (np.broadcast_to(way, points.shape) for way in ([1.0, 0.0], [0.0, 5.0]))
    numbers = np.ones(len(ROWS), int) if whole is None else whole
    course = follow_outlines(rgb, points, outwards, along, np.zeros((1, len(ROWS))), numbers[None], 1.0)
    return border + course.shift_mm[0], course.spread_mm[0]


def test_found_beside_a_wrong_border():
    columns, spread = right_side(picture())
    assert columns == pytest.approx(100, abs=0.6)
    assert spread.max() < 2


def test_a_stronger_pen_line_inside_is_not_the_outline():
    columns, _ = right_side(picture(line=90))
    assert columns == pytest.approx(100, abs=1.1)


def test_runs_on_where_nothing_shows_and_says_so():
    columns, spread = right_side(picture(faint=(80, 110)))
    hidden = (ROWS > 84) & (ROWS < 106)
    assert columns[hidden] == pytest.approx(100, abs=2)
    assert spread[hidden].min() > spread[~hidden & (ROWS < 70)].max()


def test_nothing_at_all_stays_at_the_border():
    columns, spread = right_side(np.full((200, 200, 3), 150, np.uint8))
    assert columns == pytest.approx(94)
    assert spread.min() > 1.9


def test_totals_are_those_of_all_courses_tried_one_by_one():
    rng = np.random.default_rng(4)
    places = 2 * REACH + 1
    price = np.full((2, 4, places), 1e6)
    few = [REACH - 9, REACH - 1, REACH, REACH + 2]
    price[:, :, few] = rng.uniform(0, 10, (2, 4, len(few)))
    joined = np.array([[True, True, True], [True, False, True]])
    totals = _totals(price, joined, np.tile([1.0, 0.5, 2.0], (2, 1)))

    def step(i, a, b):
        far = abs(a - b) > BAND[-1]
        return LEAP if far else min(LEAP, 0.5 * ((a - b) * PLACE_MM / (BEND_MM * [1.0, 0.5, 2.0][i])) ** 2)

    for side in (0, 1):
        costs = {}
        for course in itertools.product(few, repeat=4):
            links = [step(i, course[i], course[i + 1]) for i in range(3) if joined[side, i]]
            costs[course] = sum(price[side, i, course[i]] for i in range(4)) + sum(links)
        for row in range(4):
            best = np.array([min(cost for course, cost in costs.items() if course[row] == place) for place in few])
            found = totals[side, row, few]
            assert found - found.min() == pytest.approx(best - best.min(), abs=1e-3)
