"""The card's markers on cards drawn from a known camera: where they are, what is missing, and what is no card."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.core.points import card_corners_mm
from fitcheck.photo.card.find_card import find_card

from ..conftest import Card

CARD = Card(distance_mm=2900, right_mm=300, up_mm=100, yaw_deg=8, pitch_deg=-5, roll_deg=1.0)


def grey_of(photo) -> np.ndarray:
    return np.ascontiguousarray(photo.rgb[:, :, 0])


@pytest.mark.parametrize("card", [CARD, replace(CARD, roll_deg=-25.0), replace(CARD, distance_mm=4500, right_mm=-600)])
def test_corners_lie_where_the_camera_sees_them(photograph, card):
    """Four corners a marker, from its own top left clockwise, to a third of a pixel: they look a little inside; the whole does not move."""
    found = find_card(grey_of(photograph(card)))
    assert found.ids == tuple(range(12))
    drawn = card.project(card_corners_mm().reshape(-1, 3)).reshape(12, 4, 2)
    assert np.abs(found.corners_px - drawn).max() < 0.33
    assert np.abs((found.corners_px - drawn).mean(axis=(0, 1))).max() < 0.03
    assert not found.twice


def test_hidden_markers_are_missing_and_the_others_keep_their_numbers(photograph):
    card = replace(CARD, hidden=(0, 5, 11))
    found = find_card(grey_of(photograph(card)))
    assert found.ids == (1, 2, 3, 4, 6, 7, 8, 9, 10)
    drawn = card.project(card_corners_mm()[list(found.ids)].reshape(-1, 3)).reshape(-1, 4, 2)
    assert np.abs(found.corners_px - drawn).max() < 0.2


def test_a_card_small_in_the_picture_is_found_enlarged(photograph):
    """Ten pixels a marker: too few without enlarging, as every cell is 1.7 px."""
    small = Card(distance_mm=3000, focal_px=1000, size=(800, 1000))
    found = find_card(grey_of(photograph(small)))
    assert len(found.ids) >= 4
    drawn = small.project(card_corners_mm()[list(found.ids)].reshape(-1, 3)).reshape(-1, 4, 2)
    assert np.abs(found.corners_px - drawn).max() < 0.5


def test_markers_that_do_not_lie_as_on_the_card_are_left_out(photograph):
    """Two markers swapped by hand: both are read, but neither lies where the others say."""
    photo = photograph(Card(distance_mm=3000, focal_px=3000))
    grey = grey_of(photo).copy()
    corners = Card(distance_mm=3000, focal_px=3000).project(card_corners_mm().reshape(-1, 3)).reshape(12, 4, 2)
    (ax, ay), (bx, by) = (np.floor(corners[k].min(axis=0)).astype(int) - 4 for k in (0, 8))
    side = 54
    first, last = grey[ay : ay + side, ax : ax + side].copy(), grey[by : by + side, bx : bx + side].copy()
    grey[ay : ay + side, ax : ax + side], grey[by : by + side, bx : bx + side] = last, first
    assert find_card(grey).ids == (1, 2, 3, 4, 5, 6, 7, 9, 10, 11)


def test_a_second_card_is_told(photograph):
    cards = Card(distance_mm=3000, right_mm=-350), Card(distance_mm=3000, right_mm=350)
    found = find_card(grey_of(photograph(*cards)))
    assert found.ids == tuple(range(12))
    assert found.twice


def test_a_plain_wall_has_none():
    found = find_card(np.full((1200, 900), 150, np.uint8))
    assert found.ids == ()
    assert found.corners_px.shape == (0, 4, 2)
