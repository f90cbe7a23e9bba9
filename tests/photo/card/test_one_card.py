"""Of two cards in a picture one is painted over, and the other is then found alone."""

from dataclasses import replace

import numpy as np

from fitcheck.photo.card.one_card import alike, doubled, painted_over
from fitcheck.photo.card.scale import scale_from_card

from ..conftest import Card


def test_the_card_that_gave_the_scale_goes_and_the_other_stays(photograph):
    photo = photograph(Card(right_mm=300), Card(right_mm=-300, distance_mm=3300))
    first = scale_from_card(photo)
    second = scale_from_card(painted_over(photo, first))
    assert {round(first.mm_per_px, 2), round(second.mm_per_px, 2)} == {1.0, 1.1}
    assert not alike(first, second)
    assert alike(first, replace(first, mm_per_px=first.mm_per_px * 1.005))
    nothing = painted_over(painted_over(photo, first), second)
    assert scale_from_card(nothing) is None
    assert np.ptp(photo.rgb) > 200  # what was given is as it was


def test_it_is_said(photograph):
    assert doubled(scale_from_card(photograph(Card()))).flags[-1] == "two_cards"
