"""The round: the right group, the right order, what to expect, and honest words when there is nothing to do."""

import re

import pytest

from fitcheck.advice.findings import find
from fitcheck.advice.plan import plan_round
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.advice import Round
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

FACTS = FittingFacts()
FIELDS = re.compile(r"\{(?!amount\}|half_amount\}|drawn:[+-]?[a-z_]+\}|(mm|cut):\d+(\.\d+)?\}|deg:\d+(\.\d+)?\}|(mm|deg)_sd:\d+(\.\d+)?\})")


def plan(measurements: list[Measurement], facts: FittingFacts = FACTS) -> Round:
    table = knowledge()
    return plan_round(solve(measurements, table, facts), find(measurements, table, facts), measurements, table, facts)


def texts(round_: Round) -> list[str]:
    steps = [text for s in round_.steps for text in (s.why, *s.steps, *s.matching, s.caution)]
    return [round_.summary, *round_.look_again, *round_.would_help, *steps]


def test_forward_shoulder_comes_before_the_bust_mark(measure) -> None:
    given = [measure(f"shoulder_seam_behind_tip_{s}", 11) for s in "LR"] + [measure(f"bust_mark_above_{s}", 18) for s in "LR"]
    found = plan(given)
    assert [(s.amount.id, s.group) for s in found.steps] == [("forward_shoulder", 1)]
    assert [a.id for a in found.later] == ["bust_point_height"]
    assert found.summary.startswith("This round: forward shoulder, {cut:")
    assert "bust point lowered" in found.summary


def test_the_next_photos_are_predicted_by_what_the_whole_round_takes_away(measure) -> None:
    given = [measure(f"shoulder_seam_behind_tip_{s}", 11) for s in "LR"] + [measure(f"bust_mark_above_{s}", 3) for s in "LR"]
    (step,) = plan(given).steps
    expect = {e.measurement: e for e in step.expect}
    amount = step.cut_mm
    assert amount in (10, 12.5)
    assert expect["shoulder_seam_behind_tip_R"].before == 11
    assert expect["shoulder_seam_behind_tip_R"].after == pytest.approx(11 - 0.94 * amount)
    assert "bust_mark_above_L" not in expect  # the seam turns about its neck end: paper does nothing at the bust


def test_steps_of_one_round_share_one_prediction(measure) -> None:
    given = [measure("waist_mark_above_back", -9), measure("waist_mark_above_front", 0)]
    given += [measure(f"waist_mark_above_side_{s}", 9) for s in "LR"]
    given += [measure(f"side_seam_forward_hip_{s}", 12) for s in "LR"] + [measure(f"side_seam_tilt_{s}", 2.2, 0.4) for s in "LR"]
    found = plan(given)
    assert {s.amount.id for s in found.steps} == {"waist_length_back", "sway_back"}
    after = {e.after for s in found.steps for e in s.expect if e.measurement == "waist_mark_above_back"}
    assert len(after) == 1
    assert abs(after.pop()) < 5


def test_the_body_itself_is_not_expected_to_change(measure) -> None:
    found = plan(
        [measure("shoulder_height_difference", 16), *(measure(f"shoulder_slope_excess_{s}", v, 0.5) for s, v in (("L", 0), ("R", -5)))]
    )
    assert [(s.amount.id, s.amount.side) for s in found.steps] == [("uneven_shoulders", "wearer_right")]
    assert [e.measurement for e in found.steps[0].expect] == ["shoulder_slope_excess_R"]
    assert "on your right side only" in found.summary


def test_more_than_is_sensible_asks_for_an_experienced_eye(measure) -> None:
    (step,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 40) for s in "LR"]).steps
    assert "experienced fitter" in step.caution
    assert "{mm:25}" in step.caution
    (step,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 12) for s in "LR"]).steps
    assert step.caution == ""


def test_one_side_on_a_half_tissue_is_traced_to_a_whole_one_first(measure) -> None:
    given = [measure("shoulder_seam_behind_tip_L", 0, 0.7), measure("shoulder_seam_behind_tip_R", 12, 0.7)]
    (half,) = plan(given, FittingFacts(tissue="half")).steps
    (full,) = plan(given, FittingFacts(tissue="full")).steps
    assert half.steps[1:] == full.steps
    assert "whole one" in half.steps[0]


def test_steps_follow_the_front(measure) -> None:
    given = [measure(f"bust_mark_above_{s}", 18) for s in "LR"]
    (dart,) = plan(given, FittingFacts(front="dart")).steps
    (princess,) = plan(given, FittingFacts(front="princess")).steps
    assert "dart" in " ".join(dart.steps)
    assert "princess" in " ".join(princess.steps)


def test_why_rests_on_the_findings(measure) -> None:
    (step,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 11) for s in "LR"]).steps
    assert step.why == "The shoulder seam lies {mm:11.0} behind the shoulder point on both sides."
    assert set(step.evidence_for) == {"shoulder_seam_behind_tip_L", "shoulder_seam_behind_tip_R"}


def test_at_most_three_alterations_a_round(measure) -> None:
    given = [measure(f"shoulder_seam_behind_tip_{s}", 14) for s in "LR"] + [measure(f"shoulder_tip_beyond_{s}", -18) for s in "LR"]
    given += [measure("shoulder_height_difference", 22), measure("waist_mark_above_front", 30)]
    given += [measure("shoulder_slope_excess_L", 0, 0.5), measure("shoulder_slope_excess_R", -9, 0.5)]
    given += [measure(f"waist_mark_above_side_{s}", 15) for s in "LR"] + [measure("waist_mark_above_back", 0, 0.5)]
    found = plan(given)
    assert len(found.steps) == 3
    assert [s.amount.id for s in found.steps] == ["uneven_shoulders", "forward_shoulder", "narrow_broad_shoulder"]
    assert "waist_length_front" in [a.id for a in found.later]


def test_a_control_is_told_that_it_fits(sample) -> None:
    found = plan(sample("control"))
    assert found.steps == ()
    assert found.later == ()
    assert found.summary.startswith("Nothing to alter:")
    sure = plan([m for m in sample("control") if m.id != "shoulder_tip_beyond"])  # where a seam ends is never quite sure
    assert sure.summary.startswith("Nothing to alter: everything that was measured lies within its tolerance.")


def test_the_forward_shoulder_sample(sample) -> None:
    found = plan(sample("forward_shoulder"))
    assert [step.amount.id for step in found.steps] == ["rounded_erect_upper_back", "forward_shoulder"]  # balance first
    assert found.steps[1].amount.side == "both"
    assert abs(found.steps[1].amount.amount_mm - 10) < 4


def test_nothing_measured_says_so(measure) -> None:
    found = plan([])
    assert found.steps == ()
    assert found.summary == "Nothing could be measured, so nothing can be said about the fit."


def test_little_measured_is_not_called_a_fit(measure) -> None:
    found = plan([measure("waist_mark_above_front", 0.5), measure("bust_mark_above_L", 0.5)])
    assert found.steps == ()
    assert found.summary.startswith("Too little was measured")
    assert "forward shoulder" in found.summary


def test_a_fault_without_an_explanation_is_told(measure) -> None:
    found = plan([measure("centre_back_left_hip", 14)])
    assert found.steps == ()
    assert "No alteration is certain enough" in found.summary
    assert "{mm:14.0} towards your left" in found.summary


def test_close_calls_are_counted(measure, sample) -> None:
    given = [m for m in sample("control") if m.id not in ("waist_mark_above", "shoulder_tip_beyond")] + [
        measure("waist_mark_above_front", 5, 2.0)
    ]
    found = plan(given)
    assert found.steps == ()
    assert "1 of" in found.summary
    assert "close to call" in found.summary


def test_a_reading_that_agrees_with_nothing_is_named(measure, sample) -> None:
    given = [m for m in sample("forward_shoulder") if m.key != "waist_mark_above_side_L"] + [measure("waist_mark_above_side_L", 60)]
    assert "does not agree with the rest" in plan(given).summary


@pytest.mark.parametrize("facts", [FACTS, FittingFacts(tissue="half", front="dart"), FittingFacts(front="none", neckline="style")])
def test_every_field_can_be_filled(sample, measure, facts: FittingFacts) -> None:
    given = sample("forward_shoulder") + [measure("centre_front_short_bust", 14)]
    assert not [text for text in texts(plan(given, facts)) if FIELDS.search(text)]


def test_every_alterations_words_can_be_filled(table: Knowledge) -> None:
    for row in table.alterations.values():
        for direction in row.directions:
            assert not [text for text in direction.texts() if FIELDS.search(text)]


def test_rounding_is_shown_and_large_amounts_are_split(measure) -> None:
    (step,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 10.6) for s in "LR"]).steps
    assert step.rounding == f"Measured {{mm:{step.amount.amount_mm:.1f}}}, rounded to {{cut:{step.cut_mm:.1f}}}."
    (step,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 12.6) for s in "LR"]).steps
    assert step.rounding == ""  # what is rounded to itself is not spoken of
    (step,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 40) for s in "LR"]).steps
    assert step.cut_mm == 25
    assert "make {cut:25.0} of it now" in step.rounding
    after = {e.measurement: e.after for e in step.expect}
    assert after["shoulder_seam_behind_tip_R"] == pytest.approx(40 - 0.94 * 25)  # a sewn seam moves by 9.4 for 10


def test_the_next_stage_and_the_cloth_are_told(measure) -> None:
    given = [measure(f"shoulder_seam_behind_tip_{s}", 12) for s in "LR"]
    assert any("hangs lower than tissue" in text for text in plan(given).look_again)
    quilted = plan(given, FittingFacts(stage="toile", cloth="quilted")).look_again
    assert any("quilt and wash a swatch" in text for text in quilted)
    assert not any("hangs lower than tissue" in text for text in quilted)


def test_the_seam_allowance_is_told_and_limits_what_cut_cloth_can_give(measure) -> None:
    given = [measure(f"shoulder_seam_behind_tip_{s}", 12) for s in "LR"]
    (paper,) = plan(given, FittingFacts(seam_allowance_mm=10)).steps
    assert "{mm:10} of seam allowance" in paper.steps[-1]
    assert paper.caution == ""
    (narrow,) = plan(given, FittingFacts(stage="garment", seam_allowance_mm=10)).steps
    (wide,) = plan(given, FittingFacts(stage="garment", seam_allowance_mm=25)).steps
    assert "lets each edge out by {mm:4} at most" in narrow.steps[-2]
    assert "do not give all of this" in narrow.caution
    assert "holds it" in wide.steps[-2]
    assert wide.caution == ""


def test_what_is_likely_but_not_plain_is_told_without_a_cut(sample, measure) -> None:
    near = [m for m in sample("control") if not m.key.startswith("shoulder_seam_behind_tip")]
    found = plan([*near, *(measure(f"shoulder_seam_behind_tip_{s}", 6.0, 2.8) for s in "LR")])
    assert found.steps == ()
    assert "Likely, but not plain enough for a cut yet: forward shoulder." in found.summary
    assert "Likely, but" not in plan(sample("control")).summary
    surer = plan([*near, *(measure(f"shoulder_seam_behind_tip_{s}", 6.0, 2.5) for s in "LR")])
    assert ["Pin it first" in step.caution for step in surer.steps] == [True]
    assert "This round" not in surer.summary


def test_both_sides_are_claimed_only_where_both_were_seen(measure) -> None:
    (seen,) = plan([measure(f"shoulder_seam_behind_tip_{s}", 11) for s in "LR"]).steps
    assert seen.where == "both sides"
    found = plan([measure("shoulder_seam_behind_tip_R", 11)])
    (carried,) = found.steps
    assert carried.where == "both sides, seen on your right only"
    assert "carried over to your left" in carried.why
    assert "(seen on your right only)" in found.summary
    (half,) = plan([measure("shoulder_seam_behind_tip_R", 11)], FittingFacts(tissue="half")).steps
    assert "carried over to your left half, which is cut alike" in half.why
    (whole,) = plan([measure(f"centre_front_short_waist_{s}", 14) for s in "LR"]).steps
    assert whole.where == ""


@pytest.mark.parametrize("other", [("bust_mark_above_L", 0.0), ("shoulder_seam_behind_neck_L", 0.5), ("waist_mark_above_side_L", 0.0)])
def test_a_reading_that_shows_nothing_of_it_is_no_evidence_for_its_side(measure, other: tuple[str, float]) -> None:
    """The left shoulder seam was not read at its tip; that her left bust mark or waist fits says nothing of the left shoulder."""
    (step,) = plan([measure("shoulder_seam_behind_tip_R", 11), measure(other[0], other[1], 3.0)]).steps
    assert step.amount.id == "forward_shoulder"
    assert step.where == "both sides, seen on your right only"
    assert "carried over to your left, where no reading shows it" in step.why


def test_the_reason_names_what_weighs_most(measure) -> None:
    """A seam 11 behind at the tip, sd 1, weighs more than one 4 behind at the neck, sd 3, whatever the order of the tables."""
    given = [measure(f"shoulder_seam_behind_tip_{s}", 11) for s in "LR"] + [measure(f"shoulder_seam_behind_neck_{s}", 4, 3.0) for s in "LR"]
    (step,) = plan(given).steps
    assert step.why.startswith("The shoulder seam lies {mm:11.0} behind the shoulder point")
    assert "too close to call" not in step.why


def test_what_can_hardly_be_decided_is_one_quiet_line(measure) -> None:
    given = [measure(f"shoulder_slope_excess_{s}", 2.5, 2.4) for s in "LR"] + [measure("waist_mark_above_front", 5, 2.0)]
    findings = find(given, knowledge(), FACTS)
    assert {f.id: f.decidable for f in findings} == {"shoulder_slope_excess": False, "waist_mark_above_front": True}
    found = plan(given)
    assert found.undecided.startswith("Too unsure here to be told either way: garment shoulder steeper than the body's.")
    assert "No photo decides" in found.undecided
    assert plan([measure("waist_mark_above_front", 5, 2.0)]).undecided == ""


def test_what_is_asked_for_can_be_read(table: Knowledge, sample) -> None:
    """Edges of neck, armhole and hem are not read from photos: no photo of them is asked for."""
    for observable in table.observables.values():
        assert ("by hand" in observable.ask) or ("tape" in observable.ask) or not observable.unread
    for text in plan([m for m in sample("forward_shoulder") if not m.id.startswith("waist")]).would_help:
        assert "Photograph the neck edge" not in text


def test_a_cut_garment_is_expected_to_change_by_what_its_seams_give(measure) -> None:
    """An allowance of 10 gives 4, which moves a sewn seam by 3.76: of 12 behind, 8.24 stay."""
    given = [measure(f"shoulder_seam_behind_tip_{s}", 12) for s in "LR"]
    (step,) = plan(given, FittingFacts(stage="garment", seam_allowance_mm=10)).steps
    assert {e.measurement: e.after for e in step.expect}["shoulder_seam_behind_tip_R"] == pytest.approx(8.24)
