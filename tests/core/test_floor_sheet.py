"""The floor sheets' squares, worked by hand: 80 mm with gaps of 12, three across and two deep."""

import numpy as np
import pytest

from fitcheck.core.floor_sheet import FLOOR_IDS, floor_corners_mm


def test_the_squares_lie_as_they_are_printed():
    corners = floor_corners_mm()
    assert corners.shape == (6, 4, 2)
    assert corners.mean(axis=1).tolist() == [[-92, 46], [0, 46], [92, 46], [-92, -46], [0, -46], [92, -46]]
    assert corners[0].tolist() == [[-132, 86], [-52, 86], [-52, 6], [-132, 6]]  # clockwise from the top left
    assert corners.mean(axis=(0, 1)) == pytest.approx([0, 0])


def test_every_square_fits_on_both_papers():
    """A4 lying is 297 x 210 mm, Letter 279.4 x 215.9; printers leave 5 mm white."""
    width, height = np.ptp(floor_corners_mm().reshape(-1, 2), axis=0)
    assert width <= 279.4 - 10
    assert height <= 210 - 10


def test_no_square_has_the_number_of_another():
    left, right = FLOOR_IDS["left"], FLOOR_IDS["right"]
    assert len(left) == len(right) == 6
    assert not {*left} & {*right}
    assert not {*left, *right} & {*range(12)}  # those of the scale card
