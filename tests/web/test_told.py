"""The short form: numbers as people write them, and the facts that come of it."""

import json

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web.choices import Choices
from fitcheck.web.told import facts_again, facts_of, number, shown

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
        facts_of({"tape_bust": "9", "tape_waist": "wide", "front": "zip", "card_bar_mm": "3"}, CM, FittingFacts())
    for word in ("bust", "waist", "front", "card_bar_mm"):
        assert word in told.value.problem


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
