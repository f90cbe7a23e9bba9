"""What several garments taught, worked by hand and against numpy."""

from datetime import date

import numpy as np
import pytest
from diary.conftest import fit_check, measurement, new_fitting, step

from fitcheck.core.advice import Amount, Expectation
from fitcheck.diary.learnt import garment_needs, made_share, profile, usual
from fitcheck.diary.recording import record

KEY = "shoulder_seam_behind_tip_R"


def fitting(diary, garment: str, reading: float, amount: float | None, day: int, **options: object) -> None:
    steps = () if amount is None else (step(amount, (KEY, reading, reading - amount)),)
    check = fit_check(f"{garment}{day}", (measurement(reading),), steps, maker=options.pop("maker", ""), later=options.pop("later", ()))
    record(diary, new_fitting(check, garment=garment, day=date(2026, 3, day), **options))


def test_a_round_counts_by_what_then_showed(diary):
    """Advice of 10 mm that showed 7, then 3 that showed 3. Half made: the second round asks again, and 10 come out, not 15."""
    for day, (reading, amount) in enumerate([(10.0, 10.0), (3.0, 3.0), (0.0, None)], start=1):
        fitting(diary, "whole", reading, amount, day)
    for day, (reading, amount) in enumerate([(10.0, 10.0), (5.0, 5.0), (0.0, None)], start=1):
        fitting(diary, "half", reading, amount, day)
    (found,) = profile(diary, "Anna").usual
    by_garment = {garment: mm for garment, mm, _ in found.amounts}
    assert by_garment["whole"] == pytest.approx(0.7 * 10 + 3)
    assert by_garment["half"] == pytest.approx(0.5 * 10 + 5)
    assert (found.needed, found.garments) == (2, 2)


def test_what_is_left_at_the_end_counts(diary):
    fitting(diary, "coat", 8.0, 8.0, 1, later=(Amount("sway_back", "both", 12.0, 2.0, 0.9),))
    found = {u.id: u.amount_mm for u in profile(diary, "Anna").usual}
    assert found == pytest.approx({"forward_shoulder": 8.0, "sway_back": 12.0})


def test_repeats_count_once_and_makers_can_be_chosen(diary):
    fitting(diary, "coat", 8.0, 8.0, 1, maker="Atelier Eins")
    fitting(diary, "coat", 8.0, 8.0, 2, maker="Atelier Eins", retake=True)
    fitting(diary, "skirt", 4.0, 4.0, 3, maker="Atelier Zwei")
    one = profile(diary, "Anna", "atelier eins")
    assert (one.fittings, one.garments) == (1, ("coat",))
    assert one.usual[0].amount_mm == pytest.approx(8.0)
    assert profile(diary, "Anna").garments == ("coat", "skirt")


def test_unmeasured_shares_count_as_made():
    expect = [Expectation(KEY, 10.0, 0.0)]
    assert made_share(expect, {KEY: (10.0, 1.0)}, {}) == 1.0
    assert made_share(expect, {KEY: (10.0, 1.0)}, {KEY: (4.0, 1.0)}) == pytest.approx(0.6)
    assert made_share(expect, {KEY: (10.0, 1.0)}, {KEY: (14.0, 1.0)}) == 0.0
    assert garment_needs([], {}, {}, {}) == {}


def test_spread_between_garments_is_found():
    """Amounts scattering by 3 mm with an uncertainty of 1 mm each: spread near 3, and the range holds nine in ten of new ones."""
    rng = np.random.default_rng(5)
    needs = {f"g{k}": {("forward_shoulder", "both"): (float(rng.normal(rng.normal(19, 3), 1)), 1.0)} for k in range(400)}
    (found,) = usual(needs)
    assert found.amount_mm == pytest.approx(19, abs=0.5)
    assert found.spread_mm == pytest.approx(3, abs=0.3)
    fresh = rng.normal(19, 3, 1000)
    assert 0.92 < np.mean((fresh > found.low_mm) & (fresh < found.high_mm)) < 0.98


def test_equal_amounts_have_no_spread():
    (found,) = usual({name: {("sway_back", "both"): (10.0, 2.0)} for name in "abcd"})
    assert (found.spread_mm, found.sd_mm) == (0.0, pytest.approx(1.0))


def test_raised_in_one_and_lowered_in_another_are_two_habits():
    needs = {"a": {("bust_point_height", "both"): (12.0, 1.0)}, "b": {("bust_point_height", "both"): (-10.0, 1.0)}, "c": {}}
    assert [(u.needed, u.garments, u.amount_mm) for u in usual(needs)] == [(1, 3, 12.0), (1, 3, -10.0)]
