"""Corners that the user gives in place of the card."""

import numpy as np
import pytest

from fitcheck.core.errors import UsageError
from fitcheck.photo.without_card.given_corners import read_sheets


def test_two_views():
    found = read_sheets(["front:a4:120,80 640,85 634.5,815 118,811", " right:id1:1,2 3,4 5,6 7,8 "])
    assert found["front"].size == "a4"
    assert np.array_equal(found["front"].corners_px, [[120, 80], [640, 85], [634.5, 815], [118, 811]])
    assert found["right"].size == "id1"


@pytest.mark.parametrize("text", ["front:a4:1,2 3,4 5,6", "top:a4:1,2 3,4 5,6 7,8", "front:a5:1,2 3,4 5,6 7,8", "front a4 1,2", ""])
def test_what_cannot_be_read_is_named(text):
    with pytest.raises(UsageError, match="scale-corners"):
        read_sheets([text])


def test_one_view_twice():
    with pytest.raises(UsageError, match="twice"):
        read_sheets(["front:a4:1,2 3,4 5,6 7,8"] * 2)
