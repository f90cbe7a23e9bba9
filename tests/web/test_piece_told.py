"""Forms about a piece read, in centimetres and inches."""

import pytest

from fitcheck.core.errors import UsageError
from fitcheck.web.piece_told import asked_of, in_unit, told_of
from fitcheck.web.piece_work import Told

ROUND = (("forward_shoulder", 10.0, False), ("sway_back", 7.5, False))


def test_what_is_left_out_stays_but_for_what_was_chosen():
    before = Told("back", 15.0, 99.0, "solid", (1.0, 2.0))
    assert told_of({}, before, 10.0) == Told("back", 15.0, 99.0)
    assert told_of({"name": "front", "allowance": "1,5", "bar": "98.5", "size": "dotted"}, before, 10.0) == Told(
        "front", 15.0, 98.5, "dotted"
    )
    assert told_of({"allowance": "5/8"}, before, 25.4).allowance_mm == pytest.approx(15.875)
    assert told_of({"allowance": ""}, before, 10.0).allowance_mm == 0.0
    assert told_of({"at": "-12.5,88"}, before, 10.0).at_mm == (-12.5, 88.0)


def test_alterations_of_the_round_and_by_hand_with_their_signs():
    form = {"round_1": "yes", "other_0": "waist_width", "amount_0": "−2", "other_2": "hem_length", "amount_2": "1 1/2", "one_2": "yes"}
    assert asked_of(form, ROUND, 10.0) == (ROUND[1], ("waist_width", -20.0, False), ("hem_length", 15.0, True))
    assert asked_of({"other_0": "waist_width", "amount_1": "3"}, ROUND, 10.0) == ()


@pytest.mark.parametrize(
    "form",
    [
        {"allowance": "much"},
        {"allowance": "9"},
        {"bar": "900"},
        {"at": "here"},
        {"at": "5"},
        {"at": "nan,1"},
        {"allowance": "inf"},
        {"name": 'a"b'},
    ],
)
def test_what_is_no_number_or_cannot_be_is_told(form):
    with pytest.raises(UsageError):
        told_of(form, Told(), 10.0)
    with pytest.raises(UsageError):
        asked_of({"other_0": "waist_width", "amount_0": "90"}, (), 10.0)


def test_lengths_are_shown_as_they_are_typed():
    assert in_unit(15.0, "cm") == "1.5"
    assert in_unit(15.875, "in") == "0.625"
