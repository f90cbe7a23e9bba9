"""Hatch lines by counting: a rectangle of 100 by 60 mm."""

import numpy as np
import pytest

from fitcheck.pattern.drawing.hatch import hatched
from fitcheck.pattern.lines import line, path_length

RECTANGLE = line((0, 0), (100, 0), (100, 60), (0, 60))


def test_level_lines_at_their_spacing():
    found = hatched(RECTANGLE + [0, 3], 10, (0.0,))
    assert [one[0, 1] for one in found] == pytest.approx([10, 20, 30, 40, 50, 60])
    assert [path_length(one) for one in found] == pytest.approx([100] * 6)


def test_a_slant_falls_to_the_right_for_angles_above_zero():
    """Clockwise on paper: the 45 degree diagonals of a rectangle are as long as its short side times the root of two, at most."""
    found = hatched(RECTANGLE, 10, (45.0,))
    for one in found:
        dx, dy = one[-1] - one[0]
        assert dy / dx == pytest.approx(1)
    assert max(path_length(one) for one in found) == pytest.approx(60 * np.sqrt(2))
    apart = [(one[0, 1] - one[0, 0]) / np.sqrt(2) for one in found]
    assert np.diff(apart) == pytest.approx(10)
    assert [(one[-1] - one[0]).prod() < 0 for one in hatched(RECTANGLE, 10, (-45.0,))] == [True] * len(found)


def test_two_directions_are_as_many_lines_as_each_alone():
    assert len(hatched(RECTANGLE, 10, (45.0, -45.0))) == 2 * len(hatched(RECTANGLE, 10, (45.0,)))


def test_a_line_is_broken_where_the_area_is():
    """A U of three strips of 20: a level line through its arms is in two parts, one through its foot is whole."""
    shape = line((0, 0), (20, 0), (20, 40), (40, 40), (40, 0), (60, 0), (60, 60), (0, 60))
    found = hatched(shape, 25, (0.0,))
    assert [(one[0, 1], path_length(one)) for one in found if one[0, 1] > 0] == [(25, 20), (25, 20), (50, 60)]
