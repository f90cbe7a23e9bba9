"""What posture says of alterations, each against a sentence: how it leans the odds beforehand, and what a change over time asks for."""

import pytest

from fitcheck.advice.prior import LEANS, UNEVEN, leaning
from fitcheck.advice.rows import Knowledge
from fitcheck.core.check import PostureValue
from fitcheck.diary.trends import posture_table

# Posture number, alteration, whether a larger number raises its odds (1) or lowers them (-1), why, and how women stand on average (the
# number's mean there). "more" and "less" of the sentence are the words of posture.toml.
SAID = (
    ("shoulder_forward", "forward_shoulder", 1, 26, "shoulder further forward than in most women makes a forward shoulder likelier"),
    ("craniovertebral_angle", "neck_forward", -1, 50.6, "head further forward, so a smaller angle, makes a forward neck likelier"),
    (
        "craniovertebral_angle",
        "rounded_erect_upper_back",
        -1,
        50.6,
        "head further forward, so a smaller angle, makes a rounded back likelier",
    ),
)
PLUS_NAMES = ("forward shoulder", "neck seam moved forward", "high rounded upper back")  # what their amounts above zero are called
UNLIKE_SIDES = (
    ("shoulder_height_difference", "uneven_shoulders", "one shoulder lower than the other, whichever, makes uneven shoulders likelier"),
    ("hip_height_difference", "uneven_hips", "one hip lower than the other, whichever, makes uneven hips likelier"),
)


def lean(id: str, alteration: str, value: float, sd: float = 1.0) -> float:
    return leaning([PostureValue(id, None, value, "mm", sd)])[alteration]


def test_every_lean_has_its_sentence() -> None:
    assert {(id, alteration) for id, _, _, alteration, _ in LEANS} == {(id, alteration) for id, alteration, *_ in SAID}
    assert {(id, alteration) for id, _, alteration, _ in UNEVEN} == {(id, alteration) for id, alteration, _ in UNLIKE_SIDES}


@pytest.mark.parametrize(("id", "alteration", "sign", "mean", "why"), SAID)
def test_posture_leans_the_way_the_sentence_says(table: Knowledge, id, alteration, sign, mean, why) -> None:
    assert lean(id, alteration, mean) == pytest.approx(0, abs=1e-9), why
    assert lean(id, alteration, mean + 8) * sign > 0.1, why
    assert lean(id, alteration, mean - 8) * sign < -0.1, why
    assert posture_table()[id]["more" if sign > 0 else "less"] in why
    assert table.alterations[alteration].plus.name in PLUS_NAMES


@pytest.mark.parametrize(("id", "alteration", "why"), UNLIKE_SIDES)
def test_unlike_sides_lean_by_their_size(id, alteration, why) -> None:
    assert lean(id, alteration, 20) == lean(id, alteration, -20) > 0.3, why
    assert lean(id, alteration, 0) < -0.3, f"level, so less likely: not {why}"


@pytest.mark.parametrize(("id", "alteration", "slope", "mean", "spread"), [(i, a, s, m, d) for i, m, d, a, s in LEANS])
def test_one_spread_more_leans_by_the_slope_and_what_is_unsure_leans_less(id, alteration, slope, mean, spread) -> None:
    """Known exactly, one standard deviation among women leans by the whole slope; known as badly as women differ, by half of it."""
    assert lean(id, alteration, mean + spread, 1e-6) == pytest.approx(slope)
    assert lean(id, alteration, mean + spread, spread) == pytest.approx(slope / 2)


# Posture number, alteration, sign of the amount that more of it asks for, the alteration's name for that sign, and why.
CHANGED = (
    ("shoulder_forward", "forward_shoulder", 1, "forward shoulder", "the seam follows the shoulder that came forward"),
    ("shoulder_slope", "square_sloping_shoulder", -1, "sloping shoulders", "a shoulder that slopes more wants the outer end lowered"),
    ("shoulder_height_difference", "uneven_shoulders", 1, "one shoulder lowered", "the right shoulder came down: lower the right one"),
    ("upper_back_curve", "rounded_erect_upper_back", 1, "high rounded upper back", "a rounder back wants more length across the blades"),
)


def test_what_a_change_of_posture_asks_for(table: Knowledge) -> None:
    links = {(id, link["alteration"]): link["per_unit"] for id, row in posture_table().items() for link in row.get("alters", ())}
    assert {*links} == {(id, alteration) for id, alteration, *_ in CHANGED}
    for id, alteration, sign, name, why in CHANGED:
        assert links[id, alteration] * sign > 0, why
        assert table.alterations[alteration].direction(sign * 10.0).name == name


def test_how_much_a_change_of_posture_asks_for() -> None:
    """A shoulder 135 mm long that falls by one degree more is lower at its end by 135 sin(1 degree) = 2.36 mm. An arc 45 mm deep over a
    chord of 385 grows by 8 (46 squared - 45 squared) / (3 x 385) = 0.63 mm where it gets 1 mm deeper."""
    links = {link["alteration"]: link["per_unit"] for row in posture_table().values() for link in row.get("alters", ())}
    assert links["square_sloping_shoulder"] == pytest.approx(-2.36, abs=0.05)
    assert links["rounded_erect_upper_back"] == pytest.approx(0.63, abs=0.05)
    assert links["forward_shoulder"] == links["uneven_shoulders"] == 1
