"""Changes of colour get the plain name a person would give them."""

import numpy as np
import pytest

from fitcheck.vision.lines.pen_colours import as_told, colour_name


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ((-0.6, 1.0, 0.6), "red"),
        ((-0.8, -0.7, -1.1), "blue"),
        ((-1.2, 0.0, 0.0), "black"),
        ((-0.6, -0.8, 0.1), "green"),
        ((-0.4, 0.6, -0.5), "purple"),
    ],
)
def test_colours_have_plain_names(change: tuple, name: str) -> None:
    assert colour_name(np.array(change)) == name


def test_a_line_in_the_colour_told_is_likelier_and_one_in_a_quite_different_colour_less_likely() -> None:
    red = np.array([-0.6, 1.0, 0.6])
    assert as_told(red, "red") == as_told(red, "dark red") > 1
    assert as_told(red, "pink") == 1.0, "light may turn pink into red"
    assert as_told(red, "blue") < 1
    assert as_told(red, "") == as_told(red, "lilac") == 1.0
