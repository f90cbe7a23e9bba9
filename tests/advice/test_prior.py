"""Tape, readings by hand and posture: what they add before anything is seen on the garment."""

import pytest

from fitcheck.advice.prior import MOST_LEAN, by_hand, leaning
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts, TapeFacts


def test_the_bust_girths_are_a_measurement(table: Knowledge) -> None:
    facts = FittingFacts(tape=TapeFacts(unit="cm", high_bust=90, bust=101), drafted_cup_difference_mm=50)
    (found,) = by_hand(table, facts)
    assert (found.key, found.value) == ("cup_excess", pytest.approx(60))
    needed = solve([found], table, facts).needed
    assert [(a.id, a.side) for a in needed] == [("full_small_bust", "both")]
    assert needed[0].amount_mm == pytest.approx(30, abs=9)
    assert by_hand(table, FittingFacts(tape=TapeFacts(bust=1010.0))) == ()
    assert by_hand(table, facts.model_copy(update={"kind": "skirt"})) == ()


def test_readings_by_hand_count_where_they_apply(table: Knowledge) -> None:
    facts = FittingFacts(observed={"sleeve_tight_R": 30, "sleeve_tight_L": 28, "crotch_below": 20, "nonsense": 3, "sleeve_tight": 9})
    assert {m.key: m.value for m in by_hand(table, facts)} == {"sleeve_tight_R": 30, "sleeve_tight_L": 28}
    assert [a.id for a in solve(by_hand(table, facts), table, facts).needed] == ["upper_arm"]
    assert [m.key for m in by_hand(table, facts.model_copy(update={"kind": "trousers"}))] == ["crotch_below"]


def test_posture_leans_and_never_decides(table: Knowledge, measure) -> None:
    forward = [PostureValue("shoulder_forward", side, 56.0, "mm", 3.0) for side in ("wearer_left", "wearer_right")]
    usual = [PostureValue("shoulder_forward", side, 26.0, "mm", 3.0) for side in ("wearer_left", "wearer_right")]
    assert leaning(usual)["forward_shoulder"] == pytest.approx(0)
    assert leaning(forward)["forward_shoulder"] == pytest.approx(0.5 * 2 * 225 / 234)
    unsure = [PostureValue("shoulder_forward", None, 56.0, "mm", 40.0)]
    assert leaning(unsure)["forward_shoulder"] < 0.2
    assert leaning([PostureValue("shoulder_forward", None, 300.0, "mm", 1.0)])["forward_shoulder"] == MOST_LEAN
    assert leaning([]) == {}
    given = [measure("shoulder_seam_behind_tip_R", 5, 2.0)]
    chances = [solve(given, table, FittingFacts(), posture).probabilities["forward_shoulder"] for posture in ((), usual, forward)]
    assert chances[0] == pytest.approx(chances[1])
    assert chances[2] > chances[1]
    assert not solve([measure("shoulder_seam_behind_tip_R", 0, 1.0)], table, FittingFacts(), forward).needed


def test_uneven_shoulders_lean_by_size_not_by_side() -> None:
    one, two = (leaning([PostureValue("shoulder_height_difference", None, value, "mm", 2.0)]) for value in (20.0, -20.0))
    assert one == two
    assert one["uneven_shoulders"] > 0
