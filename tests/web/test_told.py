"""The short form: numbers as people write them, and the facts that come of it."""

import json

import pytest

from fitcheck.advice.prior import names_by_hand
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web.choices import Choices
from fitcheck.web.told import HAND, facts_again, facts_of, hand_field, number, shown

CM, INCHES = Choices(), Choices(units="in")


@pytest.mark.parametrize(
    ("text", "value"),
    [("89", 89), ("89.5", 89.5), ("89,5", 89.5), ("35 1/2", 35.5), ("35½", 35.5), ("7/8", 0.875), (" 35  3/4 ", 35.75), ("⅜", 0.375)],
)
def test_numbers_as_people_write_them(text, value):
    assert number(text) == value


@pytest.mark.parametrize("text", ["", "abc", "1/0", "1.2.3", "-3", "9" * 400 + "x", "1e9"])
def test_what_is_no_number_stays_to_be_complained_of(text):
    assert number(text) == text


def test_tape_in_inches_is_kept_in_mm():
    """35 1/2 in are 901.7 mm."""
    facts = facts_of({"tape_bust": "35 1/2", "wearer": "Anna"}, INCHES, FittingFacts())
    assert facts.tape.bust == pytest.approx(901.7)
    assert facts.wearer == "Anna"
    assert facts.units == "in"
    assert shown(facts, INCHES)["tape_bust"] == "35.5"
    assert shown(facts, CM)["tape_bust"] == "90.17"


def test_every_fault_is_told():
    with pytest.raises(UsageError) as told:
        facts_of(
            {"tape_bust": "9", "tape_waist": "wide", "front": "zip", "card_bar_mm": "3", "hand_sleeve_tight_R": "x"}, CM, FittingFacts()
        )
    for said in (
        "“Bust, at its fullest” is 9, too small (50 to 220 cm); did you mean 90?",
        '“Waist” is "wide"; it must be a number.',
        '“How is the bust shaped?” is "zip"',
        "the card's 100 mm bar, measures, in mm” is 3, too small",
        '“Sleeve too tight at the upper arm, your right, in mm” is "x"',
    ):
        assert said in told.value.problem
    assert "`" not in told.value.problem


def test_what_a_form_leaves_out_stays():
    before = facts_of(
        {"tape_bust": "90", "wearer": "Anna", "garment": "blouse", "card_bar_mm": "98.5", "sleeve": "none"}, CM, FittingFacts()
    )
    after = facts_of({"wearer": "Berta"}, CM, before)
    assert after == before.model_copy(update={"wearer": "Berta"})
    assert facts_of({"card_bar_mm": ""}, CM, before).card_bar_mm == 100


def test_recorded_facts_come_back_without_what_belongs_to_one_day():
    facts = facts_of({"tape_bust": "90", "wearer": "Anna", "garment": "blouse", "front": "dart"}, CM, FittingFacts(date="2026-04-02"))
    again = facts_again(json.dumps(facts.model_dump()))
    assert again.tape.bust == 900
    assert again.front == "dart"
    assert again.date == ""


def test_facts_of_a_newer_program_are_passed_over():
    assert facts_again('{"front": "wrap", "wearer": "Anna"}') == FittingFacts()


def test_what_was_measured_by_hand_goes_by_the_names_of_the_tables():
    known = names_by_hand(knowledge())
    assert [key for key, _, _ in HAND if key not in known] == []
    fields = [hand_field(key, sign) for key, sign, _ in HAND]
    assert len(set(fields)) == len(fields)


def test_whatever_the_answer_asks_to_measure_can_be_told():
    """By hand, or with the tape."""
    asked = [o.id for o in knowledge().observables.values() if "by hand" in o.ask]
    assert len(asked) > 8
    assert [id for id in asked if not any(key.startswith(id) for key, _, _ in HAND)] == []


def test_by_hand_with_its_sign_and_in_her_units():
    """The right hip is the lower one above zero; 3/8 in are 9.5 mm."""
    facts = facts_of({"hand_hip_height_difference_other": "3/8", "hand_sleeve_tight_L": "1"}, INCHES, FittingFacts())
    assert facts.observed == {"hip_height_difference": pytest.approx(-9.525), "sleeve_tight_L": pytest.approx(25.4)}
    fields = shown(facts, CM)
    assert (fields["hand_hip_height_difference"], fields["hand_hip_height_difference_other"]) == ("", "0.9525")
    assert (
        dict((hand_field(key, sign), words) for key, sign, words in HAND)["hand_hip_height_difference_other"] == "Hip higher on your right"
    )
    assert facts_of({"hand_sleeve_tight_L": ""}, INCHES, facts).observed == {}
    assert facts_of({"wearer": "Anna"}, INCHES, facts).observed == facts.observed


def test_her_height_stands_in_for_a_card():
    assert facts_of({"tape_height": "165"}, CM, FittingFacts()).height_mm == 1650
    assert facts_of({"tape_height": ""}, CM, FittingFacts(height_mm=1700)).height_mm is None


@pytest.mark.parametrize(
    ("answer", "told"),
    [("", (None, None)), ("full", ("full", None)), ("right", ("half", "wearer_right")), ("left", ("half", "wearer_left"))],
)
def test_what_the_tissue_covers_is_told_or_left_to_the_photos(answer, told):
    before = facts_of({"tissue": "left"}, CM, FittingFacts())
    facts = facts_of({"tissue": answer}, CM, before)
    assert (facts.worn_told.tissue, facts.worn_told.side) == told
    assert shown(facts, CM)["tissue"] == answer


def test_what_was_seen_of_the_tissue_last_time_does_not_hold_for_the_next():
    assert facts_again(json.dumps({"kind": "top", "tissue": "full"})).worn_told.tissue is None
