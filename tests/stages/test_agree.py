"""Card, floor and lens, and which photos show one woman from where their names say."""

from dataclasses import replace

import pytest

from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.settings import Settings
from fitcheck.stages.agree import agree


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


@pytest.mark.parametrize(("lacking", "says"), [("pose", "Nobody was found"), ("card", "No scale card")])
def test_without_anybody_or_any_scale_there_is_no_answer(staged, lacking, says):
    seen = [replace(photo, pose=None) for photo in staged.seen] if lacking == "pose" else staged.seen
    with pytest.raises(NothingMeasuredError, match=says):
        agree(seen, {} if lacking == "card" else staged.cards, Settings())
