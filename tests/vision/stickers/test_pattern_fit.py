"""The pattern fit against stickers laid into a picture by known homographies."""

import cv2
import numpy as np
import pytest
from vision.printed import at, cloth, lying, paste, printed_sticker

from fitcheck.vision.stickers.pattern_fit import OUTLINE_ONLY, fit_sticker, matches, shape_from_corners, turned

SQUARE = ((-12.5, 12.5), (12.5, 12.5), (12.5, -12.5), (-12.5, -12.5))


def picture(number: int, to_photo: np.ndarray, side: int = 160) -> np.ndarray:
    rgb = paste(cloth(side, side, number), printed_sticker(number), to_photo) + np.random.default_rng(number).normal(0, 2, (side, side, 1))
    return cv2.cvtColor(np.clip(rgb, 0, 255).astype(np.uint8), cv2.COLOR_RGB2GRAY).astype(np.float32)


def start(to_photo: np.ndarray, off_px: float, seed: int) -> np.ndarray:
    corners = np.array([at(to_photo, *corner) for corner in SQUARE])
    return shape_from_corners(corners + np.random.default_rng(seed).normal(0, off_px, (4, 2)))


@pytest.mark.parametrize("px_per_mm", [0.7, 1.0, 1.8])
@pytest.mark.parametrize("spin_deg", [0, 37, 115, 200, 310])
def test_centre_within_a_tenth_of_a_pixel(px_per_mm, spin_deg):
    to_photo = lying((80.3, 78.8), px_per_mm, spin_deg, tilt_deg=35, about_deg=spin_deg / 2)
    fit = fit_sticker(picture(25, to_photo), 25, start(to_photo, 1.0, spin_deg))
    assert np.hypot(*(fit.centre_px - at(to_photo, 0, 0))) < 0.1
    assert fit.match > 0.93
    assert fit.facing == pytest.approx(np.cos(np.radians(35)), abs=0.03)
    paper = np.array([at(to_photo, u, v) for u, v in ((-15.5, 15.5), (15.5, 15.5), (15.5, -15.5), (-15.5, -15.5))])
    assert np.abs(fit.corners_px - paper).max() < 0.5


def test_stated_sd_is_honest():
    """Over many pictures the centre's error is what the fit says, within a factor of two."""
    errors, stated = [], []
    for i in range(30):
        rng = np.random.default_rng(i)
        to_photo = lying((80 + rng.random(), 80 + rng.random()), 1.0, rng.uniform(0, 360), rng.uniform(0, 60), rng.uniform(0, 360))
        fit = fit_sticker(picture(31, to_photo), 31, start(to_photo, 0.7, i))
        errors.append(fit.centre_px - at(to_photo, 0, 0))
        stated.append(fit.centre_sd_px)
    ratio = np.sqrt(np.mean(np.square(errors))) / np.sqrt(np.mean(np.square(stated)))
    assert 0.5 < ratio < 2


def test_bent_round_a_cylinder():
    """A sticker bent round a neck (radius 55 mm, axis upright): its middle is the middle of the bent paper, not of its corners."""
    sticker, k = printed_sticker(23), 12
    over, radius = 4, 55.0
    y, x = np.mgrid[0 : 160 * over, 0 : 160 * over].astype(np.float32)
    across, up = (x + 0.5) / over - 0.5 - 80, 80 - ((y + 0.5) / over - 0.5)  # mm at 1 px per mm, seen square on but turned by 25 degrees
    turn = np.arcsin(np.clip(across / radius, -1, 1)) - np.radians(25)
    column = (sticker.shape[1] / 2 - 0.5 + radius * turn * k).astype(np.float32)
    row = (sticker.shape[0] - 20 * k - 0.5 - up * k).astype(np.float32)
    fine = cv2.remap(sticker, column, row, cv2.INTER_LINEAR).astype(np.float32)
    cover = cv2.resize(cv2.GaussianBlur(fine[..., 3:] / 255, (0, 0), 2.4)[..., None], (160, 160), interpolation=cv2.INTER_AREA)[..., None]
    drawn = cv2.resize(cv2.GaussianBlur(fine[..., :3] * fine[..., 3:] / 255, (0, 0), 2.4), (160, 160), interpolation=cv2.INTER_AREA)
    gray = cv2.cvtColor((cloth(160, 160) * (1 - cover) + drawn).astype(np.float32), cv2.COLOR_RGB2GRAY)
    middle = np.array([80 + radius * np.sin(np.radians(25)), 80.0])
    ends = [80 + radius * np.sin(np.radians(25) + u / radius) for u in (-12.5, 12.5)]
    corners = np.array([[ends[0], 67.5], [ends[1], 67.5], [ends[1], 92.5], [ends[0], 92.5]])
    fit = fit_sticker(gray, 23, shape_from_corners(corners))
    assert abs(corners[:, 0].mean() - middle[0]) > 0.5  # what corners alone would say
    assert np.hypot(*(fit.centre_px - middle)) < 0.2
    assert fit.match > 0.95


def test_covered_corner_does_not_pull_the_centre():
    to_photo = lying((80, 80), 1.0, 10)
    gray = picture(28, to_photo)
    gray[88:, 84:] = 90
    fit = fit_sticker(gray, 28, start(to_photo, 0.5, 1))
    assert np.hypot(*(fit.centre_px - at(to_photo, 0, 0))) < 0.3


def test_every_id_and_quarter_turn_is_told_apart():
    numbers = (22, 23, 24, 25, 62, 63, 64, 65)
    for number in numbers:
        for quarters in range(4):
            to_photo = lying((80, 80), 1.0, 90.0 * quarters + 12)
            gray = picture(number, to_photo)
            bare = turned(start(to_photo, 0.3, quarters), quarters)  # a square says nothing about which way is up
            alike = matches(gray, bare, numbers)
            row, quarter = np.unravel_index(alike.argmax(), alike.shape)
            assert numbers[row] == number
            fit = fit_sticker(gray, number, turned(bare, int(quarter)))
            assert np.hypot(*(fit.at(np.array([[0.0, 12.0]]))[0] - at(to_photo, 0, 12))) < 0.3


def test_frame_alone_is_found_whatever_the_id():
    for number in (20, 41, 81):
        to_photo = lying((80, 80), 1.0, 20, 50, 30)
        fit = fit_sticker(picture(number, to_photo), OUTLINE_ONLY, start(to_photo, 1.0, number))
        assert np.hypot(*(fit.centre_px - at(to_photo, 0, 0))) < 0.5
        assert fit.match > 0.9


def test_bare_cloth_matches_nothing():
    gray = cv2.cvtColor(cloth(160, 160).astype(np.uint8), cv2.COLOR_RGB2GRAY).astype(np.float32)
    fit = fit_sticker(gray, 25, shape_from_corners(np.array([[68, 68], [92, 68], [92, 92], [68, 92.0]])))
    assert fit.match < 0.5
