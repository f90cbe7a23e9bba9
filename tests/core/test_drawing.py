"""The two sides of a seam before and after an alteration."""

import pytest

from fitcheck.core.drawing import SewnSeam


def test_ease_that_stays_is_no_gap_and_what_one_side_grew_is():
    """A cap of 250 to an armhole of 225: 25 mm of ease."""
    assert SewnSeam("cap", 250, 258, 225, 233).gap == pytest.approx(0)
    assert SewnSeam("cap", 250, 258, 225, 228).gap == pytest.approx(5)
    assert SewnSeam("cap", 250, 250, 225, 228).gap == pytest.approx(-3)
