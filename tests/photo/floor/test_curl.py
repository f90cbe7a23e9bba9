"""A corner that stands up rises alone, and squarely with the distance from where it begins."""

import numpy as np
import pytest

from fitcheck.photo.floor.curl import BEGINS, BENDS, HALF_MM, MIDDLE_MM, SENSES, corner_rise


def test_each_bend_lifts_its_own_corner_by_a_millimetre_and_no_other() -> None:
    rise = corner_rise(MIDDLE_MM + SENSES * HALF_MM)
    assert rise.shape == (4, BENDS)
    for bends in np.split(rise, len(BEGINS), axis=1):
        np.testing.assert_allclose(bends, np.eye(4))


def test_the_middle_of_the_sheet_lies_on_the_floor() -> None:
    np.testing.assert_array_equal(corner_rise(MIDDLE_MM[None]), np.zeros((1, BENDS)))


def test_half_the_way_from_where_it_begins_it_is_a_quarter_as_high() -> None:
    begin = BEGINS[0]
    half_way = MIDDLE_MM + HALF_MM * (begin + (1 - begin) / 2)
    assert corner_rise(half_way[None])[0, 1] == pytest.approx(0.25)
