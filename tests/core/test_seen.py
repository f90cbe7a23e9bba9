"""The record of one photo hands on copies."""

import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.records import Sighting
from fitcheck.core.seen import Garment, SeenPhoto

PHOTO = SeenPhoto(Photo("front", "front.jpg", "", np.zeros((2, 2, 3), np.uint8), None, ""), None, ("dark",))


def test_doubts_are_kept_once_in_the_order_they_came():
    doubted = PHOTO.doubted("no_card", "dark").with_garment(Garment(flags=("cloth_crumpled", "no_card")))
    assert doubted.flags == ("dark", "no_card", "cloth_crumpled")
    assert PHOTO.flags == ("dark",)
    assert PHOTO.garment == Garment()


def test_marks_are_stickers_and_dots():
    sticker, dot = (Sighting("seat", None, "front", grade, np.zeros(2), 1.0) for grade in ("marker", "dot"))
    assert SeenPhoto(PHOTO.photo, None, stickers=(sticker,), dots=(dot,)).marks == (sticker, dot)
