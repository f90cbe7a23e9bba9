"""Findings: the verdict by hand, left and right told together, and sentences that can be filled."""

import numpy as np
import pytest

from fitcheck.advice.findings import find, verdict
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement


@pytest.mark.parametrize(
    ("deviation", "sd", "expected"),
    [
        # tolerance 3: the fault is sure when (|d| - 3)/sd > 1.645, the fit when 80 % lie inside
        (5.6, 1.5, "present"),
        (5.3, 1.5, "unclear"),
        (-5.6, 1.5, "present"),
        (1.7, 1.5, "absent"),
        (1.8, 1.5, "unclear"),
        (0.0, 3.0, "unclear"),
        (2.9, 0.0, "absent"),
        (3.1, 0.0, "present"),
    ],
)
def test_verdict(deviation: float, sd: float, expected: str) -> None:
    assert verdict(deviation, sd, 3.0) == expected


def test_both_sides_alike_are_one_finding(table: Knowledge, measure) -> None:
    found = find([measure("shoulder_seam_behind_tip_L", 9.4, 1.0), measure("shoulder_seam_behind_tip_R", 10.2, 1.0)], table)
    assert len(found) == 1
    assert (found[0].side, found[0].verdict) == ("both", "present")
    assert found[0].says == "The shoulder seam lies {mm:9.8} behind the shoulder point on both sides."
    assert found[0].measurements == ("shoulder_seam_behind_tip_L", "shoulder_seam_behind_tip_R")


@pytest.mark.parametrize(("left", "right"), [(-9.0, 9.0), (0.0, 9.0), (6.0, 16.0)])
def test_unlike_sides_are_told_apart(table: Knowledge, measure, left: float, right: float) -> None:
    found = find([measure("shoulder_seam_behind_tip_L", left, 0.5), measure("shoulder_seam_behind_tip_R", right, 0.5)], table)
    assert {f.side for f in found} == {"wearer_left", "wearer_right"}
    mine = next(f for f in found if f.side == "wearer_right")
    assert mine.says == f"The shoulder seam lies {{mm:{right:.1f}}} behind the shoulder point on your right."


def test_the_contrary_has_its_own_sentence_and_a_fit_too(table: Knowledge, measure) -> None:
    says = {
        f.id: f.says
        for f in find([measure("bust_mark_above_L", -9), measure("side_seam_tilt_R", -3, 0.3), measure("bust_mark_outside_L", 0)], table)
    }
    assert says["bust_mark_above"] == "The bust mark lies {mm:9.0} below the bust point on your left."
    assert says["side_seam_tilt"] == "The side seam swings {deg:3.0} to the back at its lower end on your right."
    assert says["bust_mark_outside"] == "The bust mark lies neither outside nor inside the bust point on your left."


def test_what_is_unclear_says_how_far_it_is_known(table: Knowledge, measure) -> None:
    (found,) = find([measure("shoulder_seam_behind_tip_R", 4, 1.5)], table)
    assert found.verdict == "unclear"
    assert "{mm:4.0}" in found.says
    assert "{mm_sd:1.50} either way" in found.says


def test_faults_come_first_then_doubts(table: Knowledge, measure) -> None:
    given = [measure("shoulder_seam_behind_tip_R", 0), measure("bust_mark_above_L", 5, 2.0), measure("waist_mark_above_back", 12)]
    assert [f.verdict for f in find(given, table)] == ["present", "unclear", "absent"]


def test_sides_replace_the_measure_of_both_together(table: Knowledge, measure) -> None:
    keys = ("centre_front_short_bust", "centre_front_short_bust_L", "centre_front_short_bust_R")
    found = find([measure(key, 9, 0.5) for key in keys], table)
    assert [f.measurements for f in found] == [keys[1:]]
    (alone,) = find([measure(keys[0], 9, 0.5)], table)
    assert alone.says == "At the bust the centre front stays {mm:9.0} short of the middle."


def test_armhole_depth_is_judged_against_what_is_wanted(table: Knowledge, measure) -> None:
    (found,) = find([measure("underarm_gap_L", 25, 1.0)], table)
    assert found.verdict == "absent"
    (found,) = find([measure("underarm_gap_L", 25, 1.0)], table, FittingFacts(sleeve="none"))
    assert found.says == "The base of the armhole lies {mm:12.0} too low on your left."


def test_a_style_neckline_is_not_compared_with_the_neck(table: Knowledge, measure) -> None:
    assert find([measure("back_neck_below", 20)], table)
    assert not find([measure("back_neck_below", 20)], table, FittingFacts(neckline="style"))


def test_a_number_that_may_mislead_must_be_further_off(table: Knowledge, measure) -> None:
    doubt = table.observables["shoulder_slope_excess"].tolerance.doubt
    assert doubt > 0
    (near,) = find([measure("shoulder_slope_excess_R", -5.0, 0.5)], table)
    (far,) = find([measure("shoulder_slope_excess_R", -8.0, 0.5)], table)
    assert (near.verdict, far.verdict) == ("unclear", "present")


@pytest.mark.parametrize("place", list(knowledge().findings))
def test_every_row_fires_beyond_its_tolerance_and_not_within(table: Knowledge, place: str) -> None:
    observable, at = table.places[place]
    kind = observable.garments[-1] if "dress" not in observable.garments else "dress"
    facts = FittingFacts(kind=kind)
    side = observable.sides(at)[-1]
    wanted, off = observable.wanted.get("set_in", 0.0), 3 * (observable.tolerance.amount + observable.tolerance.doubt)
    row = table.findings[place]
    for value, verdict_, words in ((wanted + off, "present", row.plus), (wanted - off, "present", row.minus), (wanted, "absent", row.fits)):
        sd = 0.1 * observable.tolerance.amount
        if verdict_ == "absent" and 1.28 * np.hypot(sd, observable.tolerance.doubt) > observable.tolerance.amount:  # 80 in 100
            verdict_ = "unclear"  # such a number is never quite sure
        (found,) = find([Measurement(observable.id, at, side, None, value, observable.unit, sd, {})], table, facts)
        assert found.verdict == verdict_
        if verdict_ != "unclear":
            assert found.says.startswith(words.split("{")[0].strip())
