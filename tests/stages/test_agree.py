"""Card, floor and lens, and which photos show one woman from where their names say."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.core.errors import NothingMeasuredError, PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.pose_joints import LEFT_WRIST
from fitcheck.core.settings import Settings
from fitcheck.photo.card.find_card import find_card
from fitcheck.photo.floor.by_floor import Print
from fitcheck.stages.agree import agree, card_scales, printed
from fitcheck.stages.read import read
from fitcheck.stages.solve import solve


def test_every_photo_gets_its_scale_and_all_are_usable(staged):
    assert all(photo.usable and photo.scale is staged.cards[photo.view] for photo in staged.agreed)
    assert len({photo.scale.above_floor.mm for photo in staged.agreed}) == 1  # one card on one floor


def test_nothing_is_changed_that_was_given(staged):
    assert all(photo.scale is None and not photo.usable for photo in staged.seen)


def test_a_photo_without_a_card_is_left_out_and_the_rest_stay(staged):
    cards = {view: scale for view, scale in staged.cards.items() if view != "left"}
    agreed = {photo.view: photo for photo in agree(staged.seen, cards, Settings())}
    assert not agreed["left"].usable
    assert agreed["left"].flags[-1] == "no_card"
    assert all(agreed[view].usable for view in cards)


def test_a_photo_under_another_views_name_is_left_out(staged):
    front, right, back, left = staged.seen
    swapped = [replace(front, photo=replace(front.photo, view="back")), right, replace(back, photo=replace(back.photo, view="front")), left]
    agreed = {photo.view: photo for photo in agree(swapped, staged.cards, Settings())}
    assert [view for view, photo in agreed.items() if "view_mixed_up" in photo.flags] == ["back", "front"]
    assert [view for view, photo in agreed.items() if photo.usable] == ["right", "left"]


def with_a_second_card(photo, share: float):
    """The photo with its own card once more in its upper corner, smaller, as on a poster."""
    card = photo_card(photo)
    small = cv2.resize(card, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    rgb = photo.rgb.copy()
    rgb[10 : 10 + small.shape[0], -10 - small.shape[1] : -10] = small
    return replace(photo, rgb=rgb)


def photo_card(photo) -> np.ndarray:
    found = find_card(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY)).corners_px.reshape(-1, 2)
    (x0, y0), (x1, y1) = (found.min(0) - 12).astype(int), (found.max(0) + 12).astype(int)
    return photo.rgb[y0:y1, x0:x1]


def test_of_two_cards_the_one_on_the_stand_is_used(staged):
    photos = [with_a_second_card(photo, 0.7) if photo.view == "front" else photo for photo in staged.photos]
    cards = card_scales(photos, Settings())
    assert "two_cards" in cards["front"].flags
    assert cards["front"].mm_per_px == pytest.approx(staged.cards["front"].mm_per_px, rel=1e-3)
    assert cards["right"].flags == staged.cards["right"].flags


def test_of_two_cards_without_a_stand_it_asks_which(staged):
    front = with_a_second_card(staged.photos[0], 0.7)
    rows = front.rgb.shape[0]
    poster = replace(front, rgb=np.where(np.arange(rows)[:, None, None] > 0.62 * rows, np.uint8(128), front.rgb))
    with pytest.raises(PhotoError, match=r"Two scale cards are in front.jpg, and nothing tells which"):
        card_scales([poster], Settings())


def test_her_height_against_the_stickers(staged):
    """A height told wrongly, without a card: that is said, and not that a card was printed off size."""
    for told_mm, flags in ((1635.0, ()), (1450.0, ("height_odd",)), (1850.0, ("height_odd",))):
        settings = Settings(FittingFacts(height_mm=told_mm))
        assert solve(read(agree(staged.seen, {}, settings), settings), settings).flags == flags


@pytest.mark.parametrize(("lacking", "says"), [("pose", "Nobody was found"), ("card", "No scale card")])
def test_without_anybody_or_any_scale_there_is_no_answer(staged, lacking, says):
    seen = [replace(photo, pose=None) for photo in staged.seen] if lacking == "pose" else staged.seen
    with pytest.raises(NothingMeasuredError, match=says):
        agree(seen, {} if lacking == "card" else staged.cards, Settings())


@pytest.mark.parametrize(
    ("bar_mm", "size"),
    [(100.0, Print(1.0, 0.003)), (97.0, Print(0.97, 0.003)), (254.0, Print(1.0, 0.0005)), (246.38, Print(0.97, 0.0005))],
)
def test_either_bar_tells_the_size_of_all_prints_the_long_one_better(bar_mm, size):
    told = printed(bar_mm)
    assert (told.share, told.sd) == (pytest.approx(size.share), size.sd)


def test_a_hand_put_up_makes_the_stance_uneven(staged):
    front, *others = staged.seen
    raised = front.pose.points_px.copy()
    raised[LEFT_WRIST, 1] -= 250
    casual = replace(front, pose=replace(front.pose, points_px=raised))
    assert "stance_uneven" in agree([casual, *others], staged.cards, Settings())[0].flags
    assert all("stance_uneven" not in photo.flags for photo in staged.agreed)


def test_a_stand_that_her_feet_contradict_tells_no_height(staged):
    """Her soles a metre in front of where the card stands: then what was taken for its foot is none."""
    low = {
        view: replace(scale, above_floor=replace(scale.above_floor, mm=scale.above_floor.mm - 400)) for view, scale in staged.cards.items()
    }
    assert all(photo.scale.above_floor is None for photo in agree(staged.seen, low, Settings()))
    told = Settings(FittingFacts(card_height_mm=900.0))
    assert all(photo.scale.above_floor is not None for photo in agree(staged.seen, low, told))


def test_a_false_foot_counts_in_no_photo(staged):
    """The floor 0.35 m too high by a foot seen in two photos: the other two had their card's height from it."""
    cards = {
        view: replace(
            scale,
            above_floor=replace(scale.above_floor, mm=scale.above_floor.mm - 350),
            foot_mm=scale.above_floor.mm - 350 if view in ("front", "right") else None,
        )
        for view, scale in staged.cards.items()
    }
    assert all(photo.scale.above_floor is None for photo in agree(staged.seen, cards, Settings()))
