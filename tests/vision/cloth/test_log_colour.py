"""Log colours: what light changes and what it leaves."""

import numpy as np
import pytest

from fitcheck.vision.cloth.log_colour import darkest_grey, from_rgb, log_colour, to_rgb


def of(*rgb: int) -> np.ndarray:
    return log_colour(np.array(rgb, np.uint8).reshape(1, 1, 3))[0, 0].astype(float)


def test_full_white_and_grey():
    """White is full light, log 0; any grey has no colour."""
    assert of(255, 255, 255) == pytest.approx([0, 0, 0], abs=1e-6)
    light, red, yellow = of(124, 124, 124)  # with the 6 added 130 of 261
    assert (light, red, yellow) == (pytest.approx(np.log(130 / 261), abs=1e-6), pytest.approx(0, abs=1e-6), pytest.approx(0, abs=1e-6))


def test_half_the_light_changes_brightness_alone():
    """Grey levels with the 6 added: 200, 160, 100 and half of them."""
    bright, shaded = of(194, 154, 94), of(94, 74, 44)
    assert (shaded - bright) == pytest.approx([-np.log(2), 0, 0], abs=1e-5)


def test_the_ratios_say_red_and_yellow():
    """Red over green; red and green, half each, over blue."""
    light, red, yellow = of(194, 94, 44)  # 200, 100, 50
    assert red == pytest.approx(np.log(2), abs=1e-5)
    assert yellow == pytest.approx((np.log(4) + np.log(2)) / 2, abs=1e-5)
    assert light == pytest.approx(np.log(100 / 261), abs=1e-5)  # 100 is the geometric mean of the three


def test_there_and_back():
    colours = np.array([[200.0, 100, 50], [30, 261, 90]])
    assert to_rgb(from_rgb(colours)) == pytest.approx(colours)
    assert from_rgb(np.array([194.0, 154, 94]) + 6) == pytest.approx(of(194, 154, 94), abs=1e-5)


def test_the_darkest_of_the_three_colours():
    """Its grey level with the 6 added."""
    colours = log_colour(np.array([[[200, 15, 40], [20, 30, 90], [128, 128, 128], [90, 200, 3]]], np.uint8))
    assert darkest_grey(colours)[0] == pytest.approx([21, 26, 134, 9], abs=0.01)
