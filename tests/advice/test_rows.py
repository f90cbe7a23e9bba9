"""Rows of the tables by hand: for what they hold, which words they give, and which mistakes they refuse."""

import math
from typing import Any

import pytest
from pydantic import ValidationError

from fitcheck.advice.rows import Alteration, Amounts, Direction, Observable
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import SIDES, Measurement

SOURCE = {"source": "a book"}
TOLERANCE = SOURCE | {"amount": 3.0, "doubt": 4.0}
AMOUNTS = SOURCE | {"usual": (5, 20), "smallest": 3, "largest": 40, "probability": 0.1, "spread": 10}
DIRECTION: dict[str, Any] = {
    "name": "forward",
    "steps": ("All.", "(skirt) Skirts."),
    "steps_dart": ("Dart.",),
    "steps_princess": ("Princess.",),
    "steps_none": ("Plain.",),
    "steps_half": ("Half.",),
    "steps_full": ("Full.",),
    "matching": ("(sleeve) The cap.", "Always."),
    "look_again": ("(sleeveless) The armhole.",),
}


def observable(**changes: Any) -> Observable:
    row = {"id": "gap", "name": "the gap", "plus": "outside", "unit": "mm", "views": ("front",), "sided": True, "ask": "Mark it."}
    return Observable.model_validate(row | {"tolerance": TOLERANCE, "model": SOURCE | {"sd": 3.0, "shared": 0.5}} | changes)


def alteration(**changes: Any) -> Alteration:
    row = {"id": "raise_it", "name": "raise it", "group": 1, "sides": "both", "pieces": ("front",), "line": "the line"}
    row |= {"full_at": "the tip", "nothing_at": "the neck", "amount_is": "the height", "plus": DIRECTION, "amounts": AMOUNTS}
    return Alteration.model_validate(row | {"effects": SOURCE | {"per_10": {"gap": 10}, "shows": {"gap": "outside"}}} | changes)


def facts(**told: Any) -> FittingFacts:
    return FittingFacts.model_validate(told)


def test_sides_of_a_level():
    row = observable(levels=("tip", "front"), midline_levels=("front",))
    assert row.sides("tip") == SIDES
    assert row.sides("front") == (None,)
    assert observable(sided=False).sides("") == (None,)


@pytest.mark.parametrize(
    ("row", "at", "told", "holds"),
    [
        ({}, "", {"kind": "dress"}, True),
        ({}, "", {"kind": "skirt"}, False),
        ({"levels": ("waist", "tip"), "lower_levels": ("waist",)}, "waist", {"kind": "skirt"}, True),
        ({"levels": ("waist", "tip"), "lower_levels": ("waist",)}, "tip", {"kind": "skirt"}, False),
        ({"levels": ("neck",), "at_neck": ("neck",)}, "neck", {"neckline": "at_neck"}, True),
        ({"levels": ("neck",), "at_neck": ("neck",)}, "neck", {"neckline": "style"}, False),
        ({"of_sleeve": True}, "", {"sleeve": "set_in"}, True),
        ({"of_sleeve": True}, "", {"sleeve": "none"}, False),
    ],
)
def test_where_an_observable_says_something(row, at, told, holds):
    assert observable(**row).applies(at, facts(**told)) == holds


def test_what_fits_may_be_another_number_with_a_sleeve():
    row = observable(wanted={"set_in": 25.0, "none": 15.0})
    measured = Measurement("gap", "", "wearer_left", None, 20.0, "mm", 1.0, {}, ())
    assert row.deviation(measured, facts(sleeve="set_in")) == -5.0
    assert row.deviation(measured, facts(sleeve="none")) == 5.0
    assert observable().deviation(measured, facts()) == 20.0


def test_straying_and_doubt_add_as_variances():
    row = observable(levels=("tip", "neck"), model=SOURCE | {"sd": 3.0, "shared": 0.5, "level_sd": {"neck": 7.5}})
    assert row.straying("tip") == 5.0  # 3 and 4
    assert row.straying("neck") == 8.5  # 7.5 and 4
    assert math.isclose(observable(tolerance=SOURCE | {"amount": 3.0}).straying(""), 3.0)


def test_a_family_is_the_row_itself_unless_it_is_named():
    assert observable().family == "gap"
    assert observable(model=SOURCE | {"sd": 3.0, "shared": 0.5, "family": "gaps"}).family == "gaps"


@pytest.mark.parametrize("key", ["midline_levels", "at_neck", "lower_levels"])
def test_a_level_that_does_not_exist_is_refused(key):
    with pytest.raises(ValidationError, match="ankle: no such level"):
        observable(levels=("tip",), **{key: ("ankle",)})


@pytest.mark.parametrize(
    ("told", "steps"),
    [
        ({"front": "dart", "tissue": "half"}, ("Half.", "All.", "Dart.")),
        ({"front": "french_dart", "tissue": "full"}, ("Full.", "All.", "Dart.")),
        ({"front": "shoulder_princess", "tissue": "half"}, ("Half.", "All.", "Princess.")),
        ({"front": "none", "tissue": "full"}, ("Full.", "All.", "Plain.")),
    ],
)
def test_steps_for_tissue_and_front_in_order(told, steps):
    assert Direction.model_validate(DIRECTION).steps_for(facts(kind="top", **told)) == steps


def test_what_follows_on_this_garment():
    row = Direction.model_validate(DIRECTION)
    assert row.steps_for(facts(kind="skirt", front="dart", tissue="half")) == ("Half.", "All.", "Skirts.", "Dart.")
    assert row.matching_for(facts(kind="top", sleeve="set_in")) == ("The cap.", "Always.")
    assert row.matching_for(facts(kind="top", sleeve="none")) == ("Always.",)
    assert row.look_again_for(facts(kind="top", sleeve="none")) == ("The armhole.",)
    assert row.look_again_for(facts(kind="top", sleeve="set_in")) == ()


def test_every_sentence_is_among_the_texts():
    sentences = [text for value in DIRECTION.values() if isinstance(value, tuple) for text in value]
    assert sorted(Direction.model_validate(DIRECTION).texts()) == sorted(sentences)


def test_a_front_without_steps_of_its_own():
    bare = Direction.model_validate(DIRECTION | {"steps": (), "steps_none": ()})
    assert [bare.has_steps(front) for front in ("dart", "princess", "none")] == [True, True, False]
    assert Direction.model_validate(DIRECTION | {"steps_none": ()}).has_steps("none")


def test_the_largest_amount_of_each_sign():
    row = Amounts.model_validate(AMOUNTS | {"largest_minus": 25})
    assert (row.most(10.0), row.most(-10.0)) == (40, 25)
    assert Amounts.model_validate(AMOUNTS).most(-10.0) == 40


@pytest.mark.parametrize("change", [{"smallest": 6}, {"usual": (20, 20)}, {"largest": 19}, {"largest_minus": 19}])
def test_amounts_out_of_order_are_refused(change):
    with pytest.raises(ValidationError, match="not in order"):
        Amounts.model_validate(AMOUNTS | change)


@pytest.mark.parametrize("change", [{"source": ""}, {"probability": 0.5}, {"spread": 0}, {"usually": 3}])
def test_amounts_without_source_or_sense_are_refused(change):
    with pytest.raises(ValidationError):
        Amounts.model_validate(AMOUNTS | change)


@pytest.mark.parametrize(
    ("row", "told", "holds"),
    [
        ({}, {"kind": "top", "front": "dart"}, True),
        ({}, {"kind": "skirt"}, False),
        ({"fronts": ("princess",)}, {"kind": "top", "front": "shoulder_princess"}, True),
        ({"fronts": ("princess",)}, {"kind": "top", "front": "waist_dart"}, False),
        ({"fronts": ("princess",), "garments": ("trousers",)}, {"kind": "trousers", "front": "dart"}, True),
        ({"pieces": ("sleeve",)}, {"kind": "top", "sleeve": "none"}, False),
        ({"pieces": ("sleeve", "front")}, {"kind": "top", "sleeve": "none"}, True),
    ],
)
def test_where_an_alteration_can_be_made(row, told, holds):
    assert alteration(**row).applies(facts(**told)) == holds


def test_the_words_follow_the_sign():
    both = alteration(minus=DIRECTION | {"name": "backward"})
    assert (both.direction(5.0).name, both.direction(-5.0).name) == ("forward", "backward")
    assert [way.name for way in both.directions] == ["forward", "backward"]
    assert alteration().direction(-5.0).name == "forward"  # no words of its own
    assert len(alteration().directions) == 1


def test_the_tables_are_looked_up_by_place_and_by_order(table):
    assert table.places["shoulder_seam_behind_tip"][1] == "tip"
    assert table.places["side_seam_tilt"][0].unit == "deg"
    first, *_, last = table.alterations
    assert (table.order(first), table.order(last)) == (0, len(table.alterations) - 1)
