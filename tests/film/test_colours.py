"""A red line and a blue dot on white tissue, kept as films keep colours: at half the width and height."""

import cv2
import numpy as np

from fitcheck.film.colours import sharp_colours

TISSUE, RED, BLUE = (225, 222, 214), (200, 60, 60), (60, 80, 190)


def drawn(width_px):
    fine = np.full((1600, 1600, 3), TISSUE, np.uint8)
    cv2.line(fine, (101, 203), (1503, 700), RED, round(8 * width_px))
    cv2.circle(fine, (804, 1203), 60, BLUE, -1)
    return cv2.resize(fine, (200, 200), interpolation=cv2.INTER_AREA)


def filmed(rgb):
    ycc = cv2.cvtColor(rgb, cv2.COLOR_RGB2YCrCb)
    halved = cv2.resize(ycc, (100, 100), interpolation=cv2.INTER_AREA)
    ycc[..., 1:] = cv2.resize(halved, (200, 200), interpolation=cv2.INTER_CUBIC)[..., 1:]
    return cv2.cvtColor(ycc, cv2.COLOR_YCrCb2RGB)


def colour(rgb):
    """How far from grey, shape (H, W)."""
    parts = cv2.cvtColor(rgb, cv2.COLOR_RGB2YCrCb)[..., 1:].astype(float) - 128
    return np.linalg.norm(parts, axis=2)


def test_a_thin_line_has_its_colour_again():
    truth = drawn(1.5)
    film, on_line = filmed(truth), colour(truth) > 0.8 * colour(truth)[:100].max()
    on_line[100:] = False
    left = [colour(one)[on_line].mean() / colour(truth)[on_line].mean() for one in (film, sharp_colours(film))]
    assert left[0] < 0.75
    assert abs(left[1] - 1) < 0.1


def test_a_dot_stays_where_it_is():
    found = colour(sharp_colours(filmed(drawn(3.0))))[120:]
    y, x = np.nonzero(found > 40)
    assert abs(x.mean() - 100.0) < 0.3
    assert abs(y.mean() + 120 - 149.9) < 0.3


def test_greys_and_flat_colours_stay_as_they_are():
    film = filmed(drawn(3.0))
    sharp = sharp_colours(film)
    grey = [cv2.cvtColor(one, cv2.COLOR_RGB2GRAY).astype(int) for one in (film, sharp)]
    assert np.percentile(np.abs(grey[0] - grey[1]), 99) <= 4
    assert np.abs(sharp[10:20, 150:190].astype(int) - film[10:20, 150:190]).max() <= 3


def test_of_a_reduced_film_half_as_much():
    """What is seen at half size has its colours whole: less is to be brought back."""
    film = filmed(drawn(3.0))
    moved = [np.abs(sharp_colours(film, reduced).astype(int) - film).mean() for reduced in (1.0, 0.5)]
    assert 0.2 * moved[0] < moved[1] < 0.8 * moved[0]
