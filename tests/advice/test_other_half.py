"""What is said of her other side, and of the whole width, when a half tissue is worn."""

import pytest

from fitcheck.advice.findings import find
from fitcheck.advice.other_half import of_the_other_half
from fitcheck.advice.plan import plan_round
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.advice import Round
from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

FACTS = FittingFacts()
RIGHT_HALF = FittingFacts(tissue="half", half="right")


def shoulders(right_lower_mm: float, sd: float = 1.5) -> list[Measurement]:
    return [Measurement("shoulder_height_difference", "", None, "front", right_lower_mm, "mm", sd, {})]


def said(facts: FittingFacts, right_lower_mm: float, hip_mm: float = 0.0) -> tuple[str, ...]:
    hips = [PostureValue("hip_height_difference", None, hip_mm, "mm", 1.5)]
    return of_the_other_half(shoulders(right_lower_mm), hips, knowledge(), facts)


def test_a_left_shoulder_8_mm_lower_asks_for_the_left_half() -> None:
    (text,) = said(RIGHT_HALF, -8.0, hip_mm=1.0)
    assert text.startswith("Your left shoulder is {mm:8.0} lower than your right one")
    assert "{mm_sd:1.50}" in text
    assert "fit the left half too" in text


def test_a_right_shoulder_lower_under_a_left_half_asks_for_the_right_one() -> None:
    (text,) = said(FittingFacts(tissue="half", half="left"), 9.0)
    assert text.startswith("Your right shoulder is {mm:9.0} lower than your left one")
    assert "fit the right half too" in text


def test_hips_count_as_well() -> None:
    (text,) = said(RIGHT_HALF, 0.0, hip_mm=12.0)
    assert text.startswith("Your right hip is {mm:12.0} lower")


def test_nothing_is_said_of_alike_sides_a_doubtful_difference_or_a_whole_garment() -> None:
    assert not said(RIGHT_HALF, -3.0)
    assert not of_the_other_half(shoulders(-8.0, sd=4.0), (), knowledge(), RIGHT_HALF)
    assert not said(FittingFacts(), -8.0)


def plan(measurements: list[Measurement], facts: FittingFacts) -> Round:
    table = knowledge()
    return plan_round(solve(measurements, table, facts), find(measurements, table, facts), measurements, table, facts)


def texts(round_: Round) -> list[str]:
    steps = [text for s in round_.steps for text in (s.why, *s.steps, *s.matching, s.caution)]
    return [round_.summary, *round_.look_again, *round_.would_help, *steps]


def test_a_gap_of_a_half_counts_twice_in_the_whole_width(measure) -> None:
    """12 short at the centre front and 8 at the centre back of the waist: the half's pieces lack 20 together, the whole waist 40."""
    given = [measure("centre_front_short_waist_R", 12, 1.0), measure("centre_back_short_waist_R", 8, 1.0)]
    given += [measure("centre_front_short_bust_R", 0, 1.0), measure("centre_front_short_hip_R", 0, 1.0)]
    given += [measure("centre_back_short_bust_R", 0, 1.0), measure("centre_back_short_hip_R", 0, 1.0)]
    (step,) = plan(given, RIGHT_HALF).steps
    assert step.amount.id == "waist_width"
    assert step.cut_mm == pytest.approx(20, abs=2.5)
    assert f"{{cut:{step.cut_mm:.1f}}} on this half's piece is {{cut:{2 * step.cut_mm:.1f}}} in the whole width" in step.why
    assert "carried over to your left half" in step.why
    (whole,) = plan(given, FACTS).steps
    assert "half" not in whole.why


def test_nobody_is_told_to_wear_the_half_tissue_that_she_wears(measure) -> None:
    given = [
        measure("bust_mark_above_R", 9, 3.0),
        measure("side_seam_forward_bust_R", 7, 4.0),
        measure("centre_front_short_bust_R", 5, 4.0),
    ]
    assert any("Wear the half" in ask or "wear the half" in ask for ask in (o.ask for o in knowledge().observables.values()))
    for facts in (FittingFacts(tissue="half", half="right"), FittingFacts(tissue="half", half="left")):
        assert not [o.id for o in knowledge().observables.values() if "wear the half" in o.ask_for(facts).lower()]
        assert not [text for text in texts(plan(given, facts)) if "wear the half" in text.lower()]
