"""Photos turned, mirrored or stretched after they were taken come back as they were taken; all others are handed on untouched."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from photo.conftest import Card, paste_card

from fitcheck.core.camera import Photo
from fitcheck.core.errors import PhotoError
from fitcheck.core.records import Pose, View
from fitcheck.core.seen import SeenPhoto
from fitcheck.photo.card.scale import scale_from_card
from fitcheck.stages.put_right import put_right

HANGS = Card(distance_mm=2500, right_mm=250, yaw_deg=3)


def photographed(view: View = "front", card: Card | None = HANGS) -> Photo:
    """A wall with a card on its right, 4 to 3 high."""
    grey = np.full((2000, 1500), 150, np.uint8)
    if card:
        paste_card(grey, card)
    return Photo(view, f"{view}.jpg", "", np.dstack([grey] * 3), 3000.0, "")


def stands(turned_by: int = 0) -> Pose:
    """One who stands, in a picture that was then turned clockwise by so many quarters."""
    px = np.full((33, 2), 0.0)
    px[[11, 12]], px[[23, 24]] = (0.0, -250.0), (0.0, 250.0)  # shoulders above hips
    for _ in range(turned_by):
        px = np.column_stack([-px[:, 1], px[:, 0]])
    return Pose(px + 750, np.zeros((33, 3)), np.ones(33), np.zeros((2000, 1500), bool))


def given(photo: Photo, pose: Pose | None = None, **more) -> tuple[Photo, ...]:
    scale = scale_from_card(photo)
    return put_right([SeenPhoto(photo, pose), *more.get("others", ())], {photo.view: scale} if scale else {})


def clockwise(photo: Photo, quarters: int) -> Photo:
    return replace(photo, rgb=np.ascontiguousarray(np.rot90(photo.rgb, -quarters)))


def test_an_ordinary_photo_is_the_very_same():
    photo = photographed()
    assert given(photo, stands())[0] is photo


def test_a_mirrored_photo_is_mirrored_back():
    photo = photographed()
    mirrored = replace(photo, rgb=np.ascontiguousarray(photo.rgb[:, ::-1]))
    (found,) = put_right([SeenPhoto(mirrored, stands())], {})
    assert np.array_equal(found.rgb, photo.rgb)
    assert found.flags == ("photo_mirrored",)
    assert mirrored.flags == ()


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_photo_turned_is_turned_back_by_its_card(quarters):
    photo = photographed()
    given_turned = clockwise(photo, quarters)
    (found,) = given(given_turned, stands(quarters))
    assert np.array_equal(found.rgb, photo.rgb)
    assert found.flags == ("photo_turned",)


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_without_a_card_her_trunk_tells_where_up_is(quarters):
    photo = photographed(card=None)
    photo.rgb[:500] = 200  # a light ceiling
    (found,) = put_right([SeenPhoto(clockwise(photo, quarters), stands(quarters))], {})
    assert np.array_equal(found.rgb, photo.rgb)
    assert found.flags == ("photo_turned",)


@pytest.mark.parametrize("pose", [None, stands()])
def test_without_a_card_one_who_stands_or_nobody_turns_nothing(pose):
    photo = photographed(card=None)
    assert put_right([SeenPhoto(photo, pose)], {})[0] is photo


def test_a_card_that_hangs_turned_beside_one_who_stands_turns_nothing():
    photo = photographed(card=replace(HANGS, roll_deg=90))
    assert given(photo, stands())[0] is photo


def stretched(photo: Photo, by: float) -> Photo:
    """The picture so many times as high."""
    height, width = photo.rgb.shape[:2]
    return replace(photo, rgb=cv2.resize(photo.rgb, (width, round(height * by)), interpolation=cv2.INTER_AREA))


def two(first: Photo, second: Photo) -> tuple[Photo, ...]:
    scales = {photo.view: scale_from_card(photo) for photo in (first, second)}
    return put_right([SeenPhoto(photo, stands()) for photo in (first, second)], scales)


def test_the_one_photo_that_was_stretched_gets_its_height_back():
    plain = photographed("back")
    high, other = two(stretched(photographed(), 1.04), plain)
    assert high.flags == ("photo_stretched",)
    assert high.rgb.shape[:2] == pytest.approx((2000, 1500), abs=8)  # to a twentieth of the stretch
    assert other is plain


@pytest.mark.parametrize(("by", "way"), [(1.12, "in height"), (1 / 1.12, "in width")])
def test_one_stretched_beyond_what_can_be_put_right_is_refused(by, way):
    with pytest.raises(PhotoError, match=rf"front\.jpg was stretched {way} by 1[123] %.*original file"):
        two(stretched(photographed(), by), photographed("back"))
