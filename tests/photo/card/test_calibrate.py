"""A drawn lens of known focal length and bending is found again, and what cannot tell a lens is refused."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.errors import PhotoError, UsageError
from fitcheck.core.points import card_corners_mm
from fitcheck.photo.camera.lens_profiles import lens_for
from fitcheck.photo.card.calibrate import calibrate
from fitcheck.photo.card.find_card import CardSighting
from fitcheck.photo.card.scale import scale_from_card

from ..conftest import Card

FOCAL, K1, K2 = 1060.0, -0.08, 0.03
SIZE = (750, 1000)
TILTS = [(0, 0), (30, 0), (-30, 5), (0, 30), (5, -30), (25, 25), (-25, 20), (20, -25), (-22, -22)]
PLACES = [(0, 0), (60, 120), (-70, 110), (60, -100), (-60, -120), (70, 0), (-70, 0), (0, 110), (0, -110)]


@pytest.fixture
def held(photograph):
    """Photos of the card in the hand, at these tilts (yaw, pitch), by a lens that bends lines."""

    def make(tilts, **changed) -> list[Photo]:
        photos = []
        for i, ((yaw, pitch), (right, up)) in enumerate(zip(tilts, PLACES, strict=False)):
            card = Card(620, right, up, yaw, pitch, 4 * (i % 3 - 1), FOCAL, SIZE, bending=(K1, K2))
            photo = photograph(replace(card, **changed), focal_known=False)
            photos.append(replace(photo, name=f"{i}.jpg", camera_model="Invented One"))
        return photos

    return make


def test_a_lens_that_bends_lines_is_found_within_its_uncertainty(held, photograph):
    lens = calibrate(held(TILTS, light_spreads=True))
    assert (lens.camera_model, lens.photos) == ("Invented One", 9)
    assert lens.shape == pytest.approx(4 / 3)
    assert lens.focal == pytest.approx(FOCAL / np.hypot(*SIZE), rel=0.006)
    assert abs(lens.focal * np.hypot(*SIZE) / FOCAL - 1) < 2 * lens.focal_sd < 0.02
    # what counts is where the bending puts a pixel at the picture's edge: r = 0.47 there
    r = 0.5 * max(SIZE) / FOCAL
    assert (lens.k1 - K1) * r**3 + (lens.k2 - K2) * r**5 == pytest.approx(0, abs=0.7 / FOCAL)
    assert abs(lens.k1 - K1) < 2 * lens.k1_sd
    assert abs(lens.k2 - K2) < 2 * lens.k2_sd

    # and it helps: the same lens, half as many pixels again, a card at 2.5 m, no focal length in the file
    far = Card(2500, 420, 150, 6, -4, 1, 2 * FOCAL, (1500, 2000), bending=(K1, K2))
    photo = replace(photograph(far, focal_known=False), camera_model="Invented One")
    found = lens_for(photo, [lens])
    blind, knowing = scale_from_card(photo), scale_from_card(photo, lenses=[lens])
    assert found == lens
    where = -far.rotation.T @ far.translation_mm

    def off_mm(scale):
        return np.linalg.norm(-scale.camera.rotation.T @ scale.camera.translation_mm - where)

    assert off_mm(knowing) < 0.3 * off_mm(blind)
    assert knowing.focal_sd < 0.015 < blind.focal_sd
    assert ("focal_unknown" in blind.flags, "focal_unknown" in knowing.flags) == (True, False)
    assert abs(knowing.camera.matrix[0, 0] / far.focal_px - 1) < 2 * knowing.focal_sd


@pytest.fixture
def exact(monkeypatch):
    """Corners straight from OpenCV's projection instead of pictures: `exact(tilts, noise_px, **card)` gives the photos to calibrate."""

    def make(tilts, noise_px=0.05, bent_mm=0.0, **changed) -> list[Photo]:
        random, cards = np.random.default_rng(3), {}
        for i, ((yaw, pitch), (right, up)) in enumerate(zip(tilts, PLACES, strict=False)):
            card = replace(Card(620, right, up, yaw, pitch, 0, FOCAL, SIZE, bending=(K1, K2)), **changed)
            solid = card_corners_mm().reshape(-1, 3)
            solid = solid + np.array([0, 0, bent_mm]) * (solid[:, :1] / 80) ** 2
            cards[i] = (card.project(solid) + random.normal(0, noise_px, (48, 2))).reshape(12, 4, 2)
        monkeypatch.setattr("fitcheck.photo.card.calibrate.find_card", lambda grey: CardSighting(tuple(range(12)), cards[int(grey[0, 0])]))
        return [Photo("front", f"{i}.jpg", "", np.full((SIZE[1], SIZE[0], 3), i, np.uint8), None, "Invented One") for i in cards]

    return make


def test_corners_without_error_give_the_lens_almost_exactly(exact):
    lens = calibrate(exact(TILTS, noise_px=0.002))
    assert lens.focal * np.hypot(*SIZE) == pytest.approx(FOCAL, rel=2e-4)
    assert (lens.k1, lens.k2) == (pytest.approx(K1, abs=2e-3), pytest.approx(K2, abs=5e-3))


def test_views_all_alike_are_refused(exact):
    with pytest.raises(UsageError, match="too alike"):
        calibrate(exact([(8, 3), (9, 3), (8, 4), (10, 3), (9, 5), (8, 3), (9, 4), (8, 5), (10, 5)]))


def test_a_bent_card_is_refused_and_the_worst_photo_named(exact):
    with pytest.raises(UsageError, match=r"flat card .* \d\.jpg fits worst"):
        calibrate(exact(TILTS, bent_mm=6.0))


def test_too_few_photos(exact):
    with pytest.raises(PhotoError, match="7 photos"):
        calibrate(exact(TILTS[:7]))


def test_too_few_cards(held):
    (photo,) = held(TILTS[:1])
    blank = replace(photo, rgb=np.full_like(photo.rgb, 150))
    with pytest.raises(PhotoError, match="in 1 of 9 photos"):
        calibrate([photo, *[blank] * 8])


def test_photos_of_two_cameras_or_of_none(exact):
    photos = exact(TILTS)
    with pytest.raises(UsageError, match="not all of one camera"):
        calibrate([*photos[:8], replace(photos[8], camera_model="Invented Two")])
    nameless = [replace(photo, camera_model="") for photo in photos]
    with pytest.raises(UsageError, match="which camera"):
        calibrate(nameless)
    assert calibrate(nameless, "My camera").camera_model == "My camera"
