"""Marks go with the paper they are drawn on."""

import numpy as np
import pytest

from fitcheck.pattern.marks import divided, turned
from fitcheck.pattern.piece import Mark

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
RIGHT = np.array([[50.0, 0.0], [100.0, 0.0], [100.0, 100.0], [50.0, 100.0]])


def test_lines_and_areas_across_the_cut_are_cut_and_words_stay_with_the_larger_part() -> None:
    line = Mark("cut", np.array([[10.0, 20.0], [90.0, 20.0]]))
    area = Mark("gap", np.array([[40.0, 40.0], [80.0, 40.0], [80.0, 60.0], [40.0, 60.0]]), "put in")
    inside, outside = divided([line, area], RIGHT, SQUARE)
    assert [mark.kind for mark in (*inside, *outside)] == ["cut", "gap", "cut", "gap"]
    assert sorted(inside[0].points[:, 0]) == pytest.approx([50, 90])
    assert sorted(outside[0].points[:, 0]) == pytest.approx([10, 50])
    assert [mark.says for mark in (inside[1], outside[1])] == ["put in", ""]


def test_an_arrow_beside_the_paper_goes_with_the_part_it_stands_beside() -> None:
    arrow = Mark("arrow", np.array([[114.0, 40.0], [114.0, 60.0]]), "{mm:20.0}")
    hinge = Mark("hinge", np.array([[0.0, 50.0]]))
    inside, outside = divided([arrow, hinge], RIGHT, SQUARE)
    assert (inside, outside) == ((arrow,), (hinge,))


def test_a_quarter_turn_clockwise_on_paper_takes_what_points_right_to_point_down() -> None:
    found = turned(Mark("cut", np.array([[0.0, 0.0], [10.0, 0.0]])), np.pi / 2, np.zeros(2))
    assert found.points[1] == pytest.approx([0, 10], abs=1e-9)
