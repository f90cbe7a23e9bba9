"""What a card tells of a picture that was turned, mirrored or stretched, and of a card that hangs turned."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.photo.card.as_taken import Taken, as_taken, mirrored_back, stretches, turned, unstretched
from fitcheck.photo.card.scale import scale_from_card

from ..conftest import Card

PLAIN = Card(distance_mm=2500, right_mm=250, yaw_deg=3)


@pytest.mark.parametrize("quarters", range(4))
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_picture_turned_or_mirrored_is_known_and_put_right(photograph, quarters, mirrored):
    upright = photograph(PLAIN)
    rgb = np.rot90(upright.rgb, -quarters)  # as much clockwise
    rgb = rgb[:, ::-1] if mirrored else rgb
    taken = as_taken(np.ascontiguousarray(rgb))
    assert taken == Taken(mirrored, quarters)
    photo = replace(upright, rgb=np.ascontiguousarray(rgb))
    photo = mirrored_back(photo) if taken.mirrored else photo
    photo = turned(photo, taken.quarters) if taken.quarters else photo
    assert np.array_equal(photo.rgb, upright.rgb)
    assert ("photo_mirrored" in photo.flags, "photo_turned" in photo.flags) == (mirrored, quarters > 0)


def test_no_card_tells_nothing(photograph):
    assert as_taken(photograph(Card(hidden=tuple(range(12)))).rgb) is None


@pytest.mark.parametrize("roll_deg", [90, 180, 270])
def test_a_card_that_hangs_turned_gives_the_camera_of_one_that_hangs_upright(photograph, roll_deg):
    upright, other = (scale_from_card(photograph(replace(PLAIN, roll_deg=roll))) for roll in (0, roll_deg))
    assert "card_turned" in other.flags
    assert "card_turned" not in upright.flags
    assert other.mm_per_px == pytest.approx(upright.mm_per_px, rel=0.003)
    apart = np.arccos(np.clip((np.trace(other.camera.rotation.T @ upright.camera.rotation) - 1) / 2, -1, 1))
    assert np.degrees(apart) < 5  # the card's yaw then is a pitch, and the other way round


def _stretched(photo, across, down):
    height, width = photo.rgb.shape[:2]
    return replace(photo, rgb=cv2.resize(photo.rgb, (round(width * across), round(height * down)), interpolation=cv2.INTER_CUBIC))


@pytest.mark.parametrize(("across", "down"), [(1.0, 1.02), (1.02, 1.0)])
def test_a_stretched_picture_is_known_by_its_shape_or_by_the_others(photograph, across, down):
    plain = photograph(PLAIN)
    odd = _stretched(plain, across, down)
    for photos in ({"front": odd}, {"front": odd, "right": plain}):
        found = stretches(photos)
        assert list(found) == ["front"]
        assert found["front"] == pytest.approx(np.log(down / across), abs=0.004)
    back = unstretched(odd, found["front"])
    assert back.rgb.shape[0] / back.rgb.shape[1] == pytest.approx(4 / 3, rel=0.005)
    assert "photo_stretched" in back.flags


def test_a_stretched_print_is_no_stretched_picture(photograph):
    photo = photograph(replace(PLAIN, print_y=1.02))
    assert stretches({"front": photo, "right": photo}) == {}
