"""A card's height that was told is one row more, or is named as what contradicts the floor."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.core.camera import CardHeight
from fitcheck.core.records import VIEWS
from fitcheck.photo.floor.moved import Agreed
from fitcheck.photo.floor.one_floor import Seen, Thing, Told
from fitcheck.photo.floor.told_height import ODD, heeded, told_height

from ...floor_pictures import card_edges
from .test_floor_fit import BY_FILE, SHOTS, fit_floor, setting, sheets_seen

HANGS_MM = 1300.0


@pytest.fixture(scope="module")
def found() -> Agreed:
    """Two photos of a card over one sheet: its height is known to some millimetres only."""
    shown: dict[str, tuple[Thing, ...]] = {"front": ("left",), "right": ("left",), "back": (), "left": ()}
    card = [Seen(view, "card", card_edges(SHOTS[view], (700, HANGS_MM, -900), np.eye(3)), 0.1) for view in ("front", "right")]
    given = setting([*sheets_seen(shown), *card], BY_FILE)
    fit = fit_floor(given)
    assert fit is not None
    return Agreed(given, fit)


def card_sd(found: Agreed) -> float:
    column = found.fit.place_columns["card", 0] + 4
    return float(np.sqrt(found.fit.covariance[column, column]))


def test_a_told_height_makes_the_floor_surer(found: Agreed) -> None:
    better, flags = heeded(found, Told(HANGS_MM, 1.0, by_tape=True))
    assert flags == ()
    assert card_sd(better) < 1.0 < card_sd(found)
    assert abs(better.fit.places["card", 0][4] - HANGS_MM) < 1.0


def test_a_height_told_wrong_is_named_and_changes_nothing(found: Agreed) -> None:
    for told in (HANGS_MM - 60, HANGS_MM + 60):
        same, flags = heeded(found, Told(told, 3.0, by_tape=True))
        assert same is found
        assert flags == (ODD,)


def test_what_was_taken_for_a_foot_and_is_none_is_passed_over(found: Agreed) -> None:
    assert heeded(found, Told(HANGS_MM - 200, 2.0, by_tape=False)) == (found, ())


def test_without_a_card_or_a_height_all_stays(found: Agreed) -> None:
    assert heeded(found, None) == (found, ())
    bare = setting(sheets_seen(), BY_FILE)
    fit = fit_floor(bare)
    assert fit is not None
    alone = Agreed(bare, fit)
    assert heeded(alone, Told(HANGS_MM, 3.0, by_tape=True)) == (alone, ())


def test_the_surest_of_what_is_told_counts() -> None:
    scales = [replace(rig.scale_at(), above_floor=CardHeight(mm, sd)) for mm, sd in ((1100.0, 3.0), (1104.0, 1.7))]
    assert told_height([rig.scale_at(), *scales]) == Told(1104.0, 1.7, by_tape=True)
    assert told_height([rig.scale_at()] * len(VIEWS)) is None
