"""Sheets and cards that were moved, or printed otherwise, are found; and nothing is said where nothing was."""

import numpy as np
import pytest

from fitcheck.core.records import VIEWS
from fitcheck.photo.floor.moved import Moved, agreed
from fitcheck.photo.floor.one_floor import Seen

from ...floor_pictures import Lying, card_edges, sheet_sighting
from .test_floor_fit import BY_FILE, FOCAL, SHEETS, SHOTS, setting, sheets_seen, upright_error_deg


def with_sheet_from(first: int, which: str, lying: Lying) -> list[Seen]:
    """All photos from that one on show the sheet elsewhere."""
    seen = []
    for s in sheets_seen():
        if s.thing == which and VIEWS.index(s.view) >= first:
            s = Seen(s.view, s.thing, sheet_sighting(SHOTS[s.view], s.thing, lying, seed=3).edges, 0.1)
        seen.append(s)
    return seen


def test_sheets_that_stay_are_not_accused() -> None:
    found = agreed(setting(sheets_seen(), BY_FILE))
    assert found is not None
    assert (found.moved, found.other_size) == ((), None)


@pytest.mark.parametrize("which", ["left", "right"])
@pytest.mark.parametrize("first", [1, 2, 3])
def test_a_sheet_that_was_pushed_is_named_with_the_photos_between_which_it_moved(which: str, first: int) -> None:
    there = SHEETS[which]
    pushed = Lying(there.x_mm + 25, there.y_mm - 15, there.yaw_deg + 2)
    found = agreed(setting(with_sheet_from(first, which, pushed), BY_FILE))
    assert found is not None
    assert found.moved == (Moved(which, VIEWS[first - 1], VIEWS[first]),)
    for view in VIEWS:
        assert upright_error_deg(found.fit.poses[view], SHOTS[view]) < 0.06


def test_a_sheet_that_was_put_back_is_named_twice() -> None:
    there = SHEETS["left"]
    seen = [
        Seen(s.view, s.thing, sheet_sighting(SHOTS[s.view], "left", Lying(there.x_mm - 40, there.y_mm), seed=5).edges, 0.1)
        if (s.view, s.thing) == (VIEWS[1], "left")
        else s
        for s in sheets_seen()
    ]
    found = agreed(setting(seen, BY_FILE))
    assert found is not None
    assert found.moved == (Moved("left", VIEWS[0], VIEWS[1]), Moved("left", VIEWS[1], VIEWS[2]))


def test_a_wall_card_that_was_moved_is_named() -> None:
    places = [(700, 1300, -900), (700, 1300, -900), (700, 1260, -900), (700, 1260, -900)]
    card = [Seen(view, "card", card_edges(SHOTS[view], place, np.eye(3)), 0.1) for view, place in zip(VIEWS, places, strict=True)]
    found = agreed(setting([*sheets_seen(), *card], BY_FILE))
    assert found is not None
    assert found.moved == (Moved("card", VIEWS[1], VIEWS[2]),)


def test_a_sheet_printed_at_97_percent_is_found() -> None:
    there = SHEETS["right"]
    found = agreed(setting(with_sheet_from(0, "right", Lying(there.x_mm, there.y_mm, there.yaw_deg, share=0.97)), BY_FILE))
    assert found is not None
    assert found.other_size is not None
    assert found.moved == ()
    assert found.fit.sizes["right"] / found.fit.sizes["left"] == pytest.approx(0.97, abs=0.003)


def test_a_fit_led_astray_by_what_was_moved_begins_afresh() -> None:
    """One sheet pushed far off before the third photo, beside a wall card: the lens and the cameras are found all the same."""
    there = SHEETS["right"]
    card = [Seen(view, "card", card_edges(SHOTS[view], (700, 1300, -100), np.eye(3)), 0.1) for view in VIEWS]
    for dx, dy in ((40, 0), (0, 40), (-30, -30)):
        pushed = with_sheet_from(2, "right", Lying(there.x_mm + dx, there.y_mm + dy, there.yaw_deg + 2))
        found = agreed(setting([*pushed, *card], BY_FILE))
        assert found is not None
        assert [(moved.thing, moved.after) for moved in found.moved] == [("right", VIEWS[2])]
        assert found.fit.lenses["front"][0] == pytest.approx(FOCAL, rel=0.005)
        assert upright_error_deg(found.fit.poses["front"], SHOTS["front"]) < 0.05


@pytest.mark.parametrize("which", ["left", "right"])
def test_beside_a_card_it_is_told_which_sheet_is_of_another_size(which: str) -> None:
    there = SHEETS[which]
    card = [Seen(view, "card", card_edges(SHOTS[view], (700, 1300, -100), np.eye(3)), 0.1) for view in VIEWS]
    smaller = with_sheet_from(0, which, Lying(there.x_mm, there.y_mm, there.yaw_deg, share=0.985))
    found = agreed(setting([*smaller, *card], BY_FILE))
    assert found is not None
    assert found.other_size == which
    assert found.fit.sizes[which] == pytest.approx(0.985, abs=0.002)
    assert upright_error_deg(found.fit.poses["front"], SHOTS["front"]) < 0.06
