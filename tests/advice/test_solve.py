"""What the solver concludes: each alteration fires on what it shows and on nothing else, and its claims hold up in simulation."""

import time
from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from fitcheck.advice.equation import equation
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import SIDES, Measurement, measurement_key

FACTS = FittingFacts()
CASES = [
    (row.id, sign, side)
    for row in knowledge().alterations.values()
    for sign in ((1, -1) if row.minus else (1,))
    for side in {"both": ("both",), "one": SIDES, "either": ("both", "wearer_right")}[row.sides]
]


def facts_for(id: str) -> FittingFacts:
    """A garment on which this alteration can be made."""
    garments = knowledge().alterations[id].garments
    return FACTS if FACTS.kind in garments else FittingFacts(kind=garments[-1])


def everything(sd: float = 1.5, facts: FittingFacts = FACTS) -> list[Measurement]:
    """Every measurement of a garment that fits (an open front, so no centre lines of a closed one)."""
    return [
        Measurement(o.id, at, side, None, o.wanted.get(FACTS.sleeve, 0.0), o.unit, sd if o.unit == "mm" else sd / 3, {})
        for o in knowledge().observables.values()
        for at in o.levels
        if o.applies(at, facts)
        for side in o.sides(at)
    ]


def lacking(id: str, side: str, amount: float) -> list[Measurement]:
    """What the photos show, exactly, when the pattern lacks one alteration."""
    fit = equation(everything(facts=facts_for(id)), knowledge(), facts_for(id))
    j = next(j for j, c in enumerate(fit.columns) if (c.alteration.id, c.side) == (id, side))
    return [
        Measurement(m.id, m.at, m.side, None, m.value + float(dy), m.unit, m.sd, {})
        for m, dy in zip(fit.measured, fit.effects[:, j] * amount, strict=True)
    ]


def without(measurements: Sequence[Measurement], *ids: str) -> list[Measurement]:
    return [m for m in measurements if m.id not in ids]


@pytest.mark.parametrize(("id", "sign", "side"), CASES)
def test_each_alteration_is_found_by_what_it_shows(table: Knowledge, id: str, sign: int, side: str) -> None:
    row = table.alterations[id]
    # as large as is usual; what shows in one coarse place only must be larger to be sure
    amount = sign * {"square_sloping_shoulder": 16, "hem_levelling": 30, "seat_width": 22}.get(id, row.amounts.usual[1])
    solution = solve(lacking(id, side, amount), table, facts_for(id))
    column = next(j for j, c in enumerate(solution.fit.columns) if (c.alteration.id, c.side) == (id, side))
    if side != "both" and np.count_nonzero(solution.fit.effects[:, column]) == 1:
        # A single reading on one side could as well be plainly wrong: the likeliest alteration, though perhaps not enough for a cut.
        assert (solution.considered[0].id, solution.considered[0].side) == (id, side)
        return
    assert [(a.id, a.side) for a in solution.needed] == [(id, side)]
    assert solution.needed[0].amount_mm == pytest.approx(amount, rel=0.3)
    assert abs(solution.needed[0].amount_mm - amount) < 2 * solution.needed[0].sd_mm
    assert solution.probabilities[id] > 0.6
    assert solution.evidence[id, side].speaks_for


@pytest.mark.parametrize("id", list(knowledge().alterations))
def test_no_alteration_is_found_on_what_lies_within_tolerance(table: Knowledge, id: str) -> None:
    row = table.alterations[id]
    side = "wearer_right" if row.sides == "one" else "both"
    fit = equation(everything(facts=facts_for(id)), table, facts_for(id))
    j = next(j for j, c in enumerate(fit.columns) if (c.alteration.id, c.side) == (id, side))
    amount = 0.9 * float(np.min(fit.tolerance[fit.effects[:, j] != 0] / np.abs(fit.effects[fit.effects[:, j] != 0, j])))
    assert not solve(lacking(id, side, amount), table, facts_for(id)).needed


@pytest.mark.parametrize("id", [row.id for row in knowledge().alterations.values() if not row.minus])
def test_what_makes_no_sense_is_never_proposed_the_wrong_way_round(table: Knowledge, id: str) -> None:
    row = table.alterations[id]
    side = "wearer_right" if row.sides == "one" else "both"
    solution = solve(lacking(id, side, -row.amounts.usual[1]), table, facts_for(id))
    assert (id, side) not in {(a.id, a.side) for a in solution.needed}
    assert all(a.amount_mm > 0 for a in solution.considered if table.alterations[a.id].minus is None)


def test_a_garment_that_fits_needs_nothing(table: Knowledge) -> None:
    solution = solve(everything(), table, FACTS)
    assert not solution.needed
    assert not solution.unexplained
    assert solution.explanations[0].alterations == ()
    assert solution.explanations[0].weight > 0.4


def test_nothing_measured_leaves_the_prior(table: Knowledge) -> None:
    solution = solve([], table, FACTS)
    assert not solution.needed
    for id, row in ((id, row) for id, row in table.alterations.items() if row.applies(FACTS)):
        assert id in solution.unseen
        assert solution.probabilities[id] == row.amounts.probability


def test_one_side_alone_is_one_sided(table: Knowledge, measure) -> None:
    given = [measure("shoulder_seam_behind_tip_L", 0.2, 1.5), measure("shoulder_seam_behind_tip_R", 11, 1.5)]
    assert [(a.id, a.side) for a in solve(given, table, FACTS).needed] == [("forward_shoulder", "wearer_right")]


def test_only_one_side_seen_is_altered_on_both(table: Knowledge, measure) -> None:
    needed = solve([measure("shoulder_seam_behind_tip_R", 11, 1.5)], table, FittingFacts(tissue="half")).needed
    assert [(a.id, a.side) for a in needed] == [("forward_shoulder", "both")]


def test_two_quite_different_sides_get_two_amounts(table: Knowledge, measure) -> None:
    given = [measure("shoulder_seam_behind_tip_L", 6, 1.0), measure("shoulder_seam_behind_tip_R", 20, 1.0)]
    needed = {a.side: a.amount_mm for a in solve(given, table, FACTS).needed if a.id == "forward_shoulder"}
    assert needed["wearer_left"] == pytest.approx(6, abs=2)
    assert needed["wearer_right"] == pytest.approx(20, abs=2)


def test_one_wild_reading_does_not_make_an_alteration(table: Knowledge) -> None:
    given = [m if m.key != "waist_mark_above_side_L" else Measurement(m.id, m.at, m.side, None, 60.0, "mm", 1.5, {}) for m in everything()]
    solution = solve(given, table, FACTS)
    assert not solution.needed
    assert solution.wild["waist_mark_above_side_L"] > 0.9
    assert solution.unexplained == ("waist_mark_above_side_L",)


def test_forward_shoulder_and_a_high_bust_mark_are_told_apart(table: Knowledge) -> None:
    fit = equation(everything(), table, FACTS)
    x = {("forward_shoulder", "both"): 10.0, ("bust_point_height", "both"): -14.0}
    amounts = np.array([x.get((c.alteration.id, c.side), 0.0) for c in fit.columns])
    given = [
        Measurement(m.id, m.at, m.side, None, m.value + float(dy), m.unit, m.sd, {})
        for m, dy in zip(fit.measured, fit.effects @ amounts, strict=True)
    ]
    found = {(a.id, a.side): a.amount_mm for a in solve(given, table, FACTS).needed}
    assert set(found) == set(x)
    for key, amount in x.items():
        assert found[key] == pytest.approx(amount, abs=2.5)


def test_a_cause_that_nothing_shows_is_called_unseen(table: Knowledge) -> None:
    solution = solve(without(everything(), "bust_mark_above", "bust_mark_outside"), table, FACTS)
    assert {"bust_point_height", "bust_point_span"} <= set(solution.unseen)
    assert "forward_shoulder" not in solution.unseen


def test_what_is_not_explained_is_named(table: Knowledge, measure) -> None:
    solution = solve([measure("centre_back_left_hip", 12, 1.0)], table, FACTS)
    assert not solution.needed
    assert solution.unexplained == ("centre_back_left_hip",)


def test_explanations_are_ranked_and_their_weights_are_shares(table: Knowledge) -> None:
    solution = solve(lacking("sway_back", "both", 18), table, FACTS)
    weights = [e.weight for e in solution.explanations]
    assert weights == sorted(weights, reverse=True)
    assert 0 < sum(weights) <= 1 + 1e-9
    assert [a.id for a in solution.explanations[0].alterations] == ["sway_back"]


def test_left_and_right_are_alike(table: Knowledge) -> None:
    """Mirroring the fitting mirrors the answer."""
    lower = {m.key: m for m in lacking("uneven_shoulders", "wearer_right", 16)}
    given = [
        replace(m, value=m.value + lower[m.key].value) for m in lacking("forward_shoulder", "wearer_right", 12) if m.id != "underarm_gap"
    ]
    other = {"wearer_left": "wearer_right", "wearer_right": "wearer_left", None: None, "both": "both"}
    turned = ("shoulder_height_difference", "centre_front_left", "centre_back_left")
    mirrored = [Measurement(m.id, m.at, other[m.side], None, -m.value if m.id in turned else m.value, m.unit, m.sd, {}) for m in given]
    one, two = solve(given, table, FACTS), solve(mirrored, table, FACTS)
    assert {(a.id, other[a.side], round(a.amount_mm, 6)) for a in one.needed} == {(a.id, a.side, round(a.amount_mm, 6)) for a in two.needed}
    assert {a.id for a in one.needed} == {"forward_shoulder", "uneven_shoulders"}


def test_a_worse_measurement_gives_a_less_sure_amount(table: Knowledge, measure) -> None:
    keys = ("shoulder_seam_behind_tip_L", "shoulder_seam_behind_tip_R")
    sds = [solve([measure(k, 14, sd) for k in keys], table, FACTS).needed[0].sd_mm for sd in (0.5, 1.5, 3.0)]
    assert sds == sorted(sds)
    assert sds[-1] > 1.5 * sds[0]


def test_a_fitting_is_solved_quickly(table: Knowledge, sample) -> None:
    given = sample("forward_shoulder")
    seconds = []
    for _ in range(5):
        start = time.process_time()
        solve(given, table, FACTS)
        seconds.append(time.process_time() - start)
    assert min(seconds) < 0.1


def test_the_samples(table: Knowledge, sample) -> None:
    assert not solve(sample("control"), table, FACTS).needed
    needed = {(a.id, a.side): a.amount_mm for a in solve(sample("forward_shoulder"), table, FACTS).needed}
    assert needed["forward_shoulder", "both"] == pytest.approx(10, abs=2.5)
    assert {id for id, _ in needed} <= {"forward_shoulder", "rounded_erect_upper_back"}


@pytest.mark.parametrize(("missing", "sd"), list(product(("shoulder_seam_behind", "side_seam_forward", "waist_mark_above"), (1.0, 3.0))))
def test_the_control_stays_clean_when_measured_worse(table: Knowledge, sample, missing: str, sd: float) -> None:
    given = [Measurement(m.id, m.at, m.side, None, m.value + 0.8 * sd, m.unit, sd, {}) for m in sample("control") if m.id != missing]
    given = [m if m.unit == "mm" else Measurement(m.id, m.at, m.side, None, 0.3 * sd, m.unit, sd / 3, {}) for m in given]
    assert len({measurement_key(m.id, m.at, m.side) for m in given}) == len(given)
    assert not solve(given, table, FACTS).needed


def gaps(key: str, value: float, others_fit: bool) -> list[Measurement]:
    """One place off by so much on both sides; the rest not measured, or all in order."""
    observable, at = knowledge().places[key]
    alone = [Measurement(observable.id, at, side, None, value, "mm", 1.5, {}) for side in observable.sides(at)]
    photos = [m for m in everything() if not knowledge().observables[m.id].by_hand and (m.id, m.at) != (observable.id, at)]
    return [*photos, *alone] if others_fit else alone


@pytest.mark.parametrize("others_fit", [False, True])
@pytest.mark.parametrize("gap", [12.0, 20.0, 30.0, 40.0])
@pytest.mark.parametrize(
    ("key", "sign", "id"),
    [
        ("centre_front_short_waist", 1, "waist_width"),
        ("centre_front_short_bust", 1, "full_small_bust"),
        ("centre_front_short_bust", -1, "full_small_bust"),
        ("bust_mark_above", -1, "bust_point_height"),
    ],
)
def test_a_large_plain_gap_is_believed(table: Knowledge, key: str, sign: int, id: str, gap: float, others_fit: bool) -> None:
    """A gap of so much on either side asks for at least so much of width on either half, and for twice that at most."""
    solution = solve(gaps(key, sign * gap, others_fit), table, FACTS)
    assert [(a.id, a.side) for a in solution.needed] == [(id, "both")]
    assert 0.9 * gap <= abs(solution.needed[0].amount_mm) <= 2 * gap
    assert not solution.unexplained


def test_a_gap_of_both_sides_together_is_believed_too(table: Knowledge, measure) -> None:
    for key, id in (("centre_front_short_waist", "waist_width"), ("centre_front_short_bust", "full_small_bust")):
        for gap in (12.0, 20.0, 30.0, 40.0):
            assert [a.id for a in solve([measure(key, gap, 1.5)], table, FACTS).needed] == [id]


def test_a_reading_is_wild_where_others_contradict_it_however_large(table: Knowledge) -> None:
    """One side 30 short, the other and everything else in order: nobody lets a waist out for that before looking again."""
    given = [
        replace(m, value=30.0) if m.key == "waist_mark_above_side_L" else replace(m, value=25.0) if m.key == "waist_mark_above_front" else m
        for m in everything()
    ]
    assert max(solve(given, table, FACTS).wild.values()) > 0.5
