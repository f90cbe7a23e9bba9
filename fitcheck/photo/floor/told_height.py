"""How high the wall card hangs, as a tape or the foot of its stand tells beside the floor sheets: heeded, or found to contradict them."""

import math
from collections.abc import Iterable
from dataclasses import replace

from fitcheck.core.camera import Scale
from fitcheck.photo.floor.floor_fit import fit_floor
from fitcheck.photo.floor.moved import Agreed
from fitcheck.photo.floor.one_floor import Told

MOST_SDS = 3.0  # of a height that was told otherwise, beyond which it is not heeded
ODD = "card_height_odd"


def told_height(cards: Iterable[Scale]) -> Told | None:
    """The card's middle above the floor as it is told best; None where nothing tells it.

    Parameters
    ----------
    cards : iterable of Scale
        As the card alone and its stand gave them.
    """
    told = [
        Told(card.above_floor.mm, card.above_floor_sd_mm, by_tape=card.above_floor.by_tilt_mm == 0)
        for card in cards
        if card.above_floor is not None
    ]
    return min(told, key=lambda height: height.sd_mm, default=None)


def heeded(found: Agreed, told: Told | None) -> tuple[Agreed, tuple[str, ...]]:
    """The fit with the card's height as one row more, unless it contradicts what lies on the floor.

    Parameters
    ----------
    found : Agreed
        Without it.
    told : Told or None

    Returns
    -------
    Agreed, tuple of str
        And the flag, if a height that somebody measured contradicts. Of what was taken for a stand's foot, which may be anything, none.
    """
    place = found.fit.places.get(("card", 0))
    if told is None or place is None:
        return found, ()
    column = found.fit.place_columns["card", 0] + 4
    sd_mm = math.hypot(told.sd_mm, math.sqrt(found.fit.covariance[column, column]))
    if abs(place[4] - told.mm) > MOST_SDS * sd_mm:
        return found, (ODD,) if told.by_tape else ()
    setting = replace(found.setting, card_height=told)
    fit = fit_floor(setting, found.fit)
    return (found if fit is None else replace(found, setting=setting, fit=fit)), ()
