"""What is said of her other side when a half tissue is worn."""

from fitcheck.advice.other_half import of_the_other_half
from fitcheck.advice.table import knowledge
from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

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
