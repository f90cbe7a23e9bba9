"""What is believed of a lens: calibration before file before guess, and what photos say together, worked by hand."""

import math
from types import SimpleNamespace

import numpy as np
import pytest

from fitcheck.core.camera import LensProfile, Photo
from fitcheck.photo.camera.lens import FIXED, K1_SD, Lens
from fitcheck.photo.camera.lens_prior import FOCAL_SD, FOCUS_SD, UNKNOWN_FOCAL_SD, lens_prior, shared_lens

CALIBRATED = LensProfile("Invented One", 4 / 3, 0.6, 0.003, -0.05, 0.01, 0.02, 0.02, 0.001, -0.002, 0.03, equivalent_mm=None, photos=10)


def photo(focal_px: float | None = None, model: str = "") -> Photo:
    """1500 x 2000 pixels: 2500 px from corner to corner."""
    return Photo("front", "front.jpg", "", np.zeros((2000, 1500, 3), np.uint8), focal_px, model)


def test_a_calibration_comes_first():
    """0.6 of 2500 px are 1500 px; its doubt and that of focusing nearer or farther add up by squares."""
    lens = lens_prior(photo(1700.0, "Invented One"), [CALIBRATED])
    assert lens.focal_px == pytest.approx(1500)
    assert lens.focal_sd == pytest.approx(math.hypot(0.003, FOCUS_SD))
    assert (lens.k1, lens.k1_sd, lens.higher) == (-0.05, 0.01, (0.02, 0.001, -0.002, 0.03))
    assert lens.known_sd is None
    assert not lens.guessed
    assert lens_prior(photo(), [CALIBRATED], camera="Invented One").focal_px == pytest.approx(1500)


def test_then_what_the_file_says():
    """The card's fit is not to change it, and it is no surer than whole millimetres of 35 mm equivalent are."""
    lens = lens_prior(photo(1700.0, "Invented Two"), [CALIBRATED])
    assert (lens.focal_px, lens.focal_sd, lens.known_sd, lens.guessed) == (1700.0, FIXED, FOCAL_SD, False)
    assert (lens.k1, lens.k1_sd) == (0.0, K1_SD)


def test_else_a_guess_with_much_doubt():
    """26 mm before a frame of 36 x 24 mm, 43.27 mm from corner to corner: 26 / 43.27 of 2500 px are 1502 px."""
    lens = lens_prior(photo(), [CALIBRATED])
    assert lens.focal_px == pytest.approx(1502.3, abs=0.5)
    assert lens.guessed
    assert lens.focal_sd == UNKNOWN_FOCAL_SD >= 0.2


def test_what_two_photos_say_counts_their_common_prior_once():
    """Each photo alone is as sure as the prior, so its fit halves the way to what it saw: with both, a third of the way to their sum.

    Prior k1 0 with precision 1; photos saw 0.03 and 0.06 with precision 1 each: (0.03 + 0.06) / 3 = 0.03, precision 3. The same of the log
    of the focal length.
    """
    first = Lens(1000.0, 0.1, k1=0.0, k1_sd=0.05)
    covariance = np.diag([0.05**2, 0.1**2]) / 2
    fits = [
        SimpleNamespace(k1=saw / 2, focal_px=1000 * math.exp(longer / 2), lens_covariance=covariance)
        for saw, longer in ((0.03, 0.12), (0.06, 0))
    ]
    lens = shared_lens(first, fits)
    assert lens.k1 == pytest.approx(0.03)
    assert lens.k1_sd == pytest.approx(0.05 / math.sqrt(3))
    assert lens.focal_px == pytest.approx(1000 * math.exp(0.04))
    assert lens.focal_sd == pytest.approx(0.1)  # twice 0.1 / sqrt(3), as corners err together, but never more than before


def test_a_photo_that_says_nothing_changes_nothing():
    first = Lens(1000.0, 0.1, k1=-0.02, k1_sd=0.05)
    vague = SimpleNamespace(k1=-0.02, focal_px=1000.0, lens_covariance=np.diag([0.05**2, 0.1**2]))
    sure = SimpleNamespace(k1=-0.04, focal_px=1100.0, lens_covariance=np.diag([0.01**2, 0.01**2]))
    lens = shared_lens(first, [vague, sure])
    assert (lens.k1, lens.focal_px) == (pytest.approx(-0.04), pytest.approx(1100))
    assert (lens.k1_sd, lens.focal_sd) == (pytest.approx(0.01), pytest.approx(0.02))
