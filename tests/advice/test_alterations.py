"""The rows of alterations.toml against what a dressmaker would say of them."""

import re

import pytest

from fitcheck.advice.findings import find
from fitcheck.advice.only_for import only_for, said_of
from fitcheck.advice.plan import plan_round
from fitcheck.advice.rows import LOWER, UPPER, Alteration, Knowledge
from fitcheck.advice.solve import solve
from fitcheck.core.advice import Amount
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement


def test_what_the_pattern_lacks_shows_as_a_dressmaker_expects(table: Knowledge) -> None:
    """Signs by reasoning alone: what is too short sits high, what is too narrow does not meet, what is too wide or long hangs loose."""
    expected = {
        ("above_bust_length", "bust_mark_above"): 1,
        ("above_bust_length", "waist_mark_above_back"): 1,
        ("above_bust_length", "underarm_gap"): -1,
        ("whole_bodice_length", "waist_mark_above_side"): 1,
        ("side_length", "waist_mark_above_side"): 1,
        ("waist_level", "waist_mark_above_front"): -1,
        ("shoulder_blades", "centre_back_short_blade"): 1,
        ("shoulder_blades", "armhole_stand_off_back"): 1,
        ("neck_depth", "front_neck_below"): -1,
        ("flat_seat", "seat_slack"): 1,
        ("flat_seat", "crotch_short_back"): -1,
        ("sleeve_pitch", "sleeve_swing"): 1,
        ("hip_level", "hip_curve_above"): -1,
        ("crotch_depth", "crotch_below"): -1,
        ("crotch_depth", "waist_mark_above_back"): -1,
        ("calf_width", "calf_tight"): 1,
        ("wrist_width", "wrist_tight"): 1,
        ("forearm_width", "forearm_tight"): 1,
    }
    for (id, key), sign in expected.items():
        assert table.alterations[id].effects.per_10[key] * sign > 0, (id, key)


def test_a_bodice_short_all_around_is_one_alteration(table: Knowledge, measure) -> None:
    given = [measure("waist_mark_above_front", 20), measure("waist_mark_above_back", 19)]
    given += [measure(f"waist_mark_above_side_{side}", 20) for side in "LR"]
    (only,) = solve(given, table, FittingFacts()).needed
    assert (only.id, round(only.amount_mm)) == ("whole_bodice_length", pytest.approx(20, abs=1))


def test_short_above_the_bust_is_told_from_short_below(table: Knowledge, measure) -> None:
    given = [measure("waist_mark_above_front", 14), measure("waist_mark_above_back", 15)]
    given += [
        measure(f"{key}_{side}", value)
        for side in "LR"
        for key, value in (("waist_mark_above_side", 15), ("bust_mark_above", 15), ("underarm_gap", 10))
    ]
    (only,) = solve(given, table, FittingFacts()).needed
    assert (only.id, round(only.amount_mm)) == ("above_bust_length", pytest.approx(15, abs=2))


@pytest.mark.parametrize("low", [-6, -12, 6, 12])
def test_a_waist_off_level_all_around_is_raised_or_lowered_and_says_nothing_of_the_crotch(table: Knowledge, measure, low: float) -> None:
    waist = [measure("waist_mark_above_front", low), measure("waist_mark_above_back", low)]
    waist += [measure(f"waist_mark_above_side_{side}", low) for side in "LR"]
    found = solve(waist, table, FittingFacts(kind="trousers"))
    (only,) = found.needed
    assert (only.id, only.amount_mm) == ("waist_level", pytest.approx(-low, abs=1))
    assert not of_the_crotch(found.considered)


@pytest.mark.parametrize("sign", [1, -1])
def test_no_photo_of_trousers_says_anything_of_the_crotch(table: Knowledge, measure, sign: int) -> None:
    """Each place that a photo reads, four tolerances off: whatever else is behind it, the crotch was not seen."""
    facts = FittingFacts(kind="trousers")
    places = [(row, at) for row, at in table.places.values() if row.applies(at, facts) and not (row.by_hand or row.unread)]
    assert len(places) >= 8
    for row, at in places:
        for side in row.sides(at):
            off = Measurement(row.id, at, side, None, sign * 4 * row.tolerance.amount, row.unit, row.tolerance.amount / 4, {})
            assert not of_the_crotch(solve([off], table, facts).considered), (row.id, at)


def test_a_crotch_that_was_measured_explains_the_waist_it_pulls_down(table: Knowledge, measure) -> None:
    given = [measure("crotch_short_back", 30), measure("waist_mark_above_back", -14)]
    assert [a.id for a in solve(given, table, FittingFacts(kind="trousers")).needed] == ["crotch_length_back"]


def test_slack_below_the_seat_is_shortened_and_never_scooped(table: Knowledge, measure) -> None:
    given = [measure("seat_slack", 14), measure("crotch_short_back", -16)]
    (only,) = solve(given, table, FittingFacts(kind="trousers")).needed
    assert only.id == "flat_seat"
    for row in table.alterations.values():
        for text in texts(row):
            assert "scoop" not in text or "never scoop" in text, (row.id, text)


def test_at_least_ten_alterations_more(table: Knowledge) -> None:
    upper = "above_bust_length whole_bodice_length side_length shoulder_blades neck_depth forearm_width wrist_width"
    lower = "waist_level flat_seat hip_level calf_width"
    for id in (*upper.split(), *lower.split()):
        row = table.alterations[id]
        assert row.amounts.source
        assert row.effects.source
        assert row.plus.steps


@pytest.mark.parametrize("kind", [*UPPER, *LOWER])
def test_words_follow_the_garment(table: Knowledge, kind: str) -> None:
    """Skirts and trousers have no bust, armhole, neck or sleeve; trousers no hem at a centre front; sleeveless garments no sleeve."""
    for sleeve in ("set_in", "none"):
        facts = FittingFacts.model_validate({"kind": kind, "sleeve": sleeve})
        for row in table.alterations.values():
            if not row.applies(facts):
                continue
            for direction in row.directions:
                said = " ".join((*direction.steps_for(facts), *direction.matching_for(facts), *direction.look_again_for(facts)))
                if kind in LOWER:
                    assert not re.search(r"\b(bust|armhole|shoulder|sleeve|collar|peplum|skirt part)\b", said), (row.id, said)
                else:
                    assert not re.search(r"\b(crotch|trousers?|legs?|knee|waistband)\b", said), (row.id, said)
                if kind == "trousers" and row.id.startswith("hem"):
                    assert "centre front" not in said
                if sleeve == "none" and kind not in LOWER:
                    assert not re.search(r"\b[Ss]leeves?:|sleeve notch|\bcap\b", said), (row.id, said)
                assert not re.search(r"^\(", said)


def test_a_pad_is_instead_of_the_paper_never_besides(table: Knowledge) -> None:
    pads = [
        (row.id, direction)
        for row in table.alterations.values()
        for direction in row.directions
        if "shoulder pad" in " ".join(direction.texts())
    ]
    assert [id for id, _ in pads] == ["square_sloping_shoulder", "uneven_shoulders"]
    for _, direction in pads:
        assert not [text for text in direction.matching if "pad" in text]
        (step,) = (text for text in direction.steps if "pad" in text)
        assert step.startswith("Instead of all this, never besides:")


def test_the_allowance_is_clipped_wherever_a_hinge_lies_on_a_seam_line(table: Knowledge) -> None:
    for row in table.alterations.values():
        for text in texts(row):
            if "hinge" in text:
                assert "clip the allowance" in text, (row.id, text)


def test_a_rounded_back_names_facing_and_collar(table: Knowledge) -> None:
    for direction in table.alterations["rounded_erect_upper_back"].directions:
        assert any("facing and collar" in text for text in direction.matching)


def test_no_length_of_a_neighbour_is_typed_beside_the_drawing(table: Knowledge) -> None:
    """Sleeve, collar and waistband are told by follows.toml from the drawing, unless they are what is altered."""
    for row in table.alterations.values():
        for direction in row.directions:
            for text in direction.matching:
                if re.match(r"(\(.*\) )?(Collar|Waistband)", text):
                    assert "{" not in text, (row.id, text)
                if re.match(r"(\(.*\) )?Sleeve:", text):
                    assert row.id in ("armhole_depth", "above_bust_length"), (row.id, text)


def test_the_round_says_what_the_neighbours_give_after_what_belongs_to_the_row(table: Knowledge, measure) -> None:
    facts = FittingFacts(sleeve="none")
    given = [measure(f"shoulder_seam_behind_tip_{side}", 11) for side in "LR"]
    (step,) = plan_round(solve(given, table, facts), find(given, table, facts), given, table, facts).steps
    assert step.matching[-len(table.follows) :] == table.follows
    assert not any(only_for(text) for text in (*step.steps, *step.matching))


def test_a_sentence_for_some_garments_is_said_of_them_without_saying_so() -> None:
    says = ("(skirt, trousers) one", "(sleeve) two", "(upper body) three", "four")
    assert said_of(says, FittingFacts(kind="trousers")) == ("one", "four")
    assert said_of(says, FittingFacts(kind="coat")) == ("two", "three", "four")
    assert said_of(says, FittingFacts(kind="dress", sleeve="none")) == ("three", "four")


def of_the_crotch(amounts: tuple[Amount, ...]) -> list[str]:
    return [a.id for a in amounts if "crotch" in a.id or a.id == "flat_seat"]


def texts(row: Alteration) -> list[str]:
    return [text for direction in row.directions for text in direction.texts()]
