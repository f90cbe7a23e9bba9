"""What would help most: against closed forms and common sense."""

import numpy as np
import pytest
from scipy.integrate import quad

from fitcheck.advice.information import _at_most, _mutual_information
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.core.fitting import FittingFacts

FACTS = FittingFacts()


def test_two_groups_far_apart_are_worth_one_bit_and_equal_ones_nothing() -> None:
    half = np.array([0.5, 0.5])
    starts = np.array([0, 1])
    assert _mutual_information(half, np.array([0.0, 60.0]), np.array([4.0, 4.0]), starts) == pytest.approx(1, abs=1e-3)
    assert _mutual_information(half, np.array([3.0, 3.0]), np.array([4.0, 4.0]), starts) == pytest.approx(0, abs=1e-9)


def test_overlapping_groups_agree_with_integration() -> None:
    def density(y: float, mean: float) -> float:
        return float(np.exp(-((y - mean) ** 2) / 8) / np.sqrt(8 * np.pi))

    def term(y: float) -> float:
        a, b = 0.7 * density(y, 0), 0.3 * density(y, 5)
        return a * np.log2(a / (0.7 * (a + b))) + b * np.log2(b / (0.3 * (a + b)))

    bits = _mutual_information(np.array([0.7, 0.3]), np.array([0.0, 5.0]), np.array([4.0, 4.0]), np.array([0, 1]))
    assert bits == pytest.approx(quad(term, -12, 17)[0], abs=1e-3)


@pytest.mark.parametrize("seed", range(5))
def test_no_reading_tells_more_than_its_spread_allows(seed) -> None:
    """Twelve hypotheses in five groups. Two that differ by twice their sd either way: 1/2 log2(1 + 4) bits at most."""
    rng = np.random.default_rng(seed)
    weight = rng.dirichlet(np.ones(12))
    mean, variance = rng.normal(0, 4, 12), rng.uniform(1, 9, 12)
    most = _at_most(weight, mean, variance)
    assert 0 < _mutual_information(weight, mean, variance, np.array([0, 2, 3, 7, 10])) < most
    assert _at_most(np.array([0.5, 0.5]), np.array([-2.0, 2.0]), np.ones(2)) == pytest.approx(0.5 * np.log2(5))


def test_it_asks_for_the_other_shoulder_when_one_is_a_close_call(table: Knowledge, measure) -> None:
    solution = solve([measure("shoulder_seam_behind_tip_R", 5, 2.5)], table, FACTS)
    assert solution.would_help[0].key == "shoulder_seam_behind_tip_L"
    bits = [h.bits for h in solution.would_help]
    assert bits == sorted(bits, reverse=True)


def test_of_a_half_tissue_only_what_it_covers_is_asked_for(table: Knowledge, measure) -> None:
    solution = solve([measure("shoulder_seam_behind_tip_R", 5, 2.5)], table, FittingFacts(tissue="half", half="right"))
    assert solution.would_help
    assert not any(h.side == "wearer_left" for h in solution.would_help)


def test_it_never_asks_for_what_was_measured_or_cannot_be(table: Knowledge, measure, sample) -> None:
    given = [m for m in sample("forward_shoulder") if not m.id.startswith("waist")]
    for facts in (FACTS, FittingFacts(neckline="style")):
        asked = {h.key for h in solve(given, table, facts).would_help}
        assert not asked & {m.key for m in given}
    assert not any(h.id in ("back_neck_below", "neck_stand_off") for h in solve(given, table, FittingFacts(neckline="style")).would_help)


def test_waist_marks_would_settle_a_back_that_only_the_side_seams_show(table: Knowledge, measure) -> None:
    given = [measure(f"side_seam_forward_{level}_{s}", v, 2.0) for s in "LR" for level, v in (("bust", -4), ("waist", -9), ("hip", -11))]
    asked = list(dict.fromkeys(h.id for h in solve(given, table, FACTS).would_help))
    assert {"waist_mark_above", "back_neck_below"} <= set(asked[:5])
    assert "shoulder_tip_beyond" not in asked


def test_the_tape_is_asked_for_only_where_it_would_decide(table: Knowledge, measure) -> None:
    given = [measure(f"centre_front_short_bust_{s}", 8, 3.0) for s in "LR"] + [
        measure(f"centre_front_short_chest_{s}", 5, 3.0) for s in "LR"
    ]
    asked = {h.id for h in solve(given, table, FACTS).would_help}
    assert "cup_excess" in asked
    assert not any(id.startswith(("sleeve", "hem_above")) for id in asked)
