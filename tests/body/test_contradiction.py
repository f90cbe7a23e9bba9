"""Which photo contradicts the others: by single numbers worked by hand, and on a rig of which one photo is another woman's."""

from dataclasses import replace

import numpy as np
import pytest
import rig

import fitcheck.body.contradiction as judged
from fitcheck.body.adjust import adjust, foretold_misfit, misfit
from fitcheck.body.contradiction import SPARE, Told, contradiction
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.evidence import Evidence

VIEWS = ("front", "right", "back", "left")


def evidence(other: tuple[str, ...] = (), views: tuple[str, ...] = VIEWS, taller: float = 1.0) -> Evidence:
    """Stickers in the views given; those of `other` are of a woman whose upper body is drawn out."""
    scale = rig.scale_at()
    own = rig.body()
    longer = {key: point * [1.0, taller, 1.0] for key, point in own.items()}
    seen = [s for view in views for s in rig.sightings(longer if view in other else own, scale, {}, 0.3) if s.view == view]
    return Evidence(dict.fromkeys(views, scale), seen)


def told(**values: float) -> Told:
    return Told({view: np.array([value]) for view, value in values.items()}, 3.0, 9.0)


def test_a_number_is_held_against_the_middle_of_the_others():
    """1147 against a middle of 1120: 27 mm are 9 sd of 3, squared 81, over 1 + 1/3: more than one number may count."""
    found = told(front=1120.0, right=1121.0, back=1119.0, left=1147.0).disagreement()
    assert found["left"] == 9.0
    assert found["front"] == pytest.approx(1 / 9 / (4 / 3))  # 1 mm below the middle 1121 of 1121, 1119 and 1147
    assert told(front=1120.0).disagreement() == {}


def test_photos_of_one_woman_do_not_contradict_each_other():
    seen = evidence()
    body = adjust(seen)
    assert contradiction(seen, body, [told(front=1120.0, right=1122.0, back=1119.0, left=1121.0)]) is None


@pytest.mark.parametrize("taller", [1.0, 1.02])
@pytest.mark.parametrize("view", VIEWS)
def test_one_round_foretells_the_misfit_without_a_photo_well_enough(view, taller):
    seen = evidence(("right",), taller=taller)
    body, others = adjust(seen), seen.without(view)
    assert foretold_misfit(others, body) - misfit(others, body) < SPARE
    assert foretold_misfit(others, body) < body.misfit + SPARE


@pytest.mark.parametrize("odd", ["front", "right", "left"])  # three stickers on the midline of the back would fit many
def test_the_photo_of_another_woman_is_named(odd):
    seen = evidence((odd,), taller=1.08)
    assert contradiction(seen, adjust(seen)) == odd


def test_two_plain_numbers_are_enough_and_one_is_not():
    """The woman is alike, but the card hangs lower and the clothes are of another colour."""
    seen = evidence()
    body = adjust(seen)
    card, colour = (told(front=0.0, right=0.0, back=0.0, left=30.0) for _ in range(2))
    assert contradiction(seen, body, [card]) is None
    assert contradiction(seen, body, [card, colour]) == "left"


def test_of_two_photos_nobody_knows_which_is_wrong():
    seen = evidence(("right",), ("front", "right"), taller=1.05)
    card, colour = told(front=0.0, right=30.0), told(front=0.0, right=30.0)
    with pytest.raises(NothingMeasuredError, match="front and the right photo contradict each other"):
        contradiction(seen, adjust(seen), [card, colour])


@pytest.mark.parametrize(("without", "odd"), [((481, 416, 437, 378), None), ((290, 40, 285, 280), "right")])
def test_a_photo_is_odd_only_where_the_others_agree_without_it(monkeypatch, without, odd):
    """A fitting before a shelf: 567 in all, and whichever photo is left out, 126 and more a photo remain. And one with an odd photo: 300
    in all, 40 without it."""
    seen = evidence()
    body = replace(adjust(seen), misfit=567.0 if odd is None else 300.0)
    rest = dict(zip(VIEWS, map(float, without), strict=True))
    for name in ("misfit", "foretold_misfit"):
        monkeypatch.setattr(judged, name, lambda others, _: next(rest[view] for view in VIEWS if view not in others.scales))
    assert contradiction(seen, body) == odd
