"""y, A and the noise of the fit equation, checked by hand."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from fitcheck.advice.equation import equation
from fitcheck.advice.rows import Knowledge
from fitcheck.core.advice import Amount
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

FACTS = FittingFacts()


def column(fit, id: str, side: str) -> int:
    return next(j for j, c in enumerate(fit.columns) if (c.alteration.id, c.side) == (id, side))


def test_both_sides_show_on_both_one_side_on_its_own(table: Knowledge, measure) -> None:
    fit = equation([measure("shoulder_seam_behind_tip_L", 10), measure("shoulder_seam_behind_tip_R", 9)], table, FACTS)
    assert fit.effects[:, column(fit, "forward_shoulder", "both")] == pytest.approx([1, 1])
    assert fit.effects[:, column(fit, "forward_shoulder", "wearer_left")] == pytest.approx([1, 0])
    assert fit.effects[:, column(fit, "forward_shoulder", "wearer_right")] == pytest.approx([0, 1])


def test_midline_effect_halves_and_one_sided_effect_turns_its_sign(table: Knowledge, measure) -> None:
    keys = ("waist_mark_above_front", "centre_front_left_bust", "shoulder_height_difference")
    fit = equation([measure(key, 0) for key in keys], table, FACTS)
    assert fit.effects[:, column(fit, "full_small_bust", "both")] == pytest.approx([0.15, 0, 0])
    assert fit.effects[:, column(fit, "full_small_bust", "wearer_left")] == pytest.approx([0.075, 0.4, 0])
    assert fit.effects[:, column(fit, "uneven_shoulders", "wearer_right")] == pytest.approx([0, 0, 1])
    assert fit.effects[:, column(fit, "uneven_shoulders", "wearer_left")] == pytest.approx([0, 0, -1])


def test_noise_adds_measuring_and_straying_and_shares_the_straying(table: Knowledge, measure) -> None:
    keys = ("bust_mark_above_L", "bust_mark_above_R", "waist_mark_above_front")
    fit = equation([measure(keys[0], 0, 1.0), measure(keys[1], 0, 2.0), measure(keys[2], 0, 1.0)], table, FACTS)
    straying = table.observables["bust_mark_above"].model
    assert fit.noise[0, 0] == pytest.approx(1 + straying.sd**2)
    assert fit.noise[1, 1] == pytest.approx(4 + straying.sd**2)
    assert fit.noise[0, 1] == pytest.approx(straying.shared * straying.sd**2)
    assert fit.noise[0, 2] == 0
    assert (np.linalg.eigvalsh(fit.noise) > 0).all()


def test_doubt_of_the_table_grows_with_the_amount_and_is_the_same_on_both_sides(table: Knowledge, measure) -> None:
    """Worked by hand: an effect in doubt by 0.2 a mm, 30 mm lacking: 6 mm, of which 3 are in the straying already, so 27 mm2 are added."""
    fit = equation([measure("bust_mark_above_L", 0), measure("bust_mark_above_R", 0), measure("waist_mark_above_front", 0)], table, FACTS)
    raised = column(fit, "bust_point_height", "both")
    doubt = np.zeros_like(fit.doubt)
    doubt[:2, raised] = 0.2
    fit = replace(fit, doubt=doubt, straying=np.full(3, 3.0))
    for amount, more in ((30.0, 27.0), (10.0, 0.0)):
        squares = np.zeros(len(fit.columns))
        squares[raised] = amount**2
        wider = fit.doubted(squares).noise - fit.noise
        assert wider == pytest.approx(np.array([[more, more, 0], [more, more, 0], [0, 0, 0]]))


def test_the_doubt_that_the_table_states_is_used_on_its_own_side(table: Knowledge, measure) -> None:
    fit = equation([measure("bust_mark_above_L", 0), measure("bust_mark_above_R", 0)], table, FACTS)
    stated = table.alterations["bust_point_height"].effects.doubt_per_10["bust_mark_above"] / 10
    assert fit.doubt[:, column(fit, "bust_point_height", "both")] == pytest.approx([stated, stated])
    assert fit.doubt[:, column(fit, "bust_point_height", "wearer_left")] == pytest.approx([stated, 0])


def test_side_seam_measurements_stray_together(table: Knowledge, measure) -> None:
    fit = equation([measure("side_seam_forward_hip_L", 0), measure("side_seam_tilt_L", 0)], table, FACTS)
    assert fit.noise[0, 1] > 0


def test_an_error_in_the_underarm_point_goes_through_all_levels(table: Knowledge) -> None:
    def seam(at: str, side: str) -> Measurement:
        return Measurement("side_seam_forward", at, side, None, -9.0, "mm", 5.0, {"pixel": 3.0, "depth": 4.0})

    straying = table.observables["side_seam_forward"].model
    fit = equation([seam("waist", "wearer_left"), seam("hip", "wearer_left"), seam("hip", "wearer_right")], table, FACTS)
    common = straying.shared * straying.sd**2
    assert fit.noise[0, 0] == pytest.approx(25 + straying.sd**2)
    assert fit.noise[0, 1] == pytest.approx(16 + common)
    assert fit.noise[0, 2] == pytest.approx(0.8 * 16 + common)


@pytest.mark.parametrize(
    ("facts", "keys"),
    [
        (FACTS, ("shoulder_seam_behind_neck_L", "back_neck_below", "bust_mark_above_L")),
        (FittingFacts(neckline="style"), ("bust_mark_above_L",)),
    ],
)
def test_a_style_neckline_takes_no_neck_measurements(table: Knowledge, measure, facts: FittingFacts, keys: tuple[str, ...]) -> None:
    given = [measure(key, 4) for key in ("shoulder_seam_behind_neck_L", "back_neck_below", "bust_mark_above_L")]
    assert equation(given, table, facts).keys == keys


def test_what_cannot_be_used_is_left_out(table: Knowledge, measure) -> None:
    strange = Measurement("elbow_height", "", None, None, 3.0, "mm", 1.0, {})
    nan = measure("bust_mark_above_L", float("nan"))
    fit = equation([strange, nan, measure("centre_front_short_bust", 8), measure("centre_front_short_bust_R", 9)], table, FACTS)
    assert fit.keys == ("centre_front_short_bust_R",)


def test_a_front_without_dart_or_princess_has_no_bust_point_to_move(table: Knowledge, measure) -> None:
    given = [measure("bust_mark_above_L", 9)]
    ids = {c.alteration.id for c in equation(given, table, FittingFacts(front="none")).columns}
    assert "bust_point_height" not in ids
    assert "full_small_bust" in ids


def test_both_and_one_side_exclude_each_other(table: Knowledge, measure) -> None:
    fit = equation([measure("bust_mark_above_L", 9)], table, FACTS)
    both, left, right = (column(fit, "bust_point_height", side) for side in ("both", "wearer_left", "wearer_right"))
    assert fit.pair_log_odds[both, left] == -np.inf
    assert np.isfinite(fit.pair_log_odds[left, right])
    assert fit.pair_log_odds[both, column(fit, "sway_back", "both")] == 0


def test_variants_of_one_alteration_add_up_to_its_odds(table: Knowledge, measure) -> None:
    fit = equation([measure("bust_mark_above_L", 9)], table, FACTS)
    both, left, right = (column(fit, "bust_point_height", side) for side in ("both", "wearer_left", "wearer_right"))
    odds = np.exp(fit.log_odds)
    two_amounts = np.exp(fit.log_odds[left] + fit.log_odds[right] + fit.pair_log_odds[left, right])
    p = table.alterations["bust_point_height"].amounts.probability
    assert odds[both] + odds[left] + odds[right] + two_amounts == pytest.approx(p / (1 - p))


def test_shown_is_linear(table: Knowledge, measure) -> None:
    fit = equation([measure("shoulder_seam_behind_tip_R", 10), measure("bust_mark_above_R", 0)], table, FACTS)
    shown = [fit.shown([Amount("forward_shoulder", "both", mm, 1)]) for mm in (0.0, 5.0, 10.0)]
    first, second = (b - a for a, b in pairwise(shown))
    assert first == pytest.approx(second)
    assert shown[2] == pytest.approx([10, 2.5])


def test_only_what_can_be_made_on_the_garment_is_considered(table: Knowledge, measure) -> None:
    def ids(facts: FittingFacts, *given: Measurement) -> set[str]:
        return {c.alteration.id for c in equation(given, table, facts).columns}

    assert {"upper_arm", "forward_shoulder", "hip_width"} <= ids(FACTS)
    assert not {"crotch_depth", "waist_back_level"} & ids(FACTS)
    assert "upper_arm" not in ids(FittingFacts(sleeve="none"))
    trousers = FittingFacts(kind="trousers")
    assert {"waist_back_level", "hip_width"} <= ids(trousers, measure("waist_mark_above_back", -9))
    assert "crotch_depth" not in ids(trousers, measure("waist_mark_above_back", -9))  # nothing of the crotch without a reading of it
    assert "crotch_depth" in ids(trousers, measure("crotch_below", -9))
    assert not {"crotch_depth", "forward_shoulder"} & ids(FittingFacts(kind="skirt"))
    given = [measure("bust_mark_above_L", 9), measure("centre_front_short_waist_L", 9), measure("centre_front_short_bust_L", 9)]
    assert equation(given, table, FittingFacts(kind="skirt")).keys == ("centre_front_short_waist_L",)


def test_leans_are_added_to_the_odds(table: Knowledge, measure) -> None:
    plain, leaned = (equation([measure("bust_mark_above_L", 9)], table, FACTS, leans) for leans in (None, {"sway_back": 0.7}))
    j = column(plain, "sway_back", "both")
    assert leaned.log_odds[j] - plain.log_odds[j] == pytest.approx(0.7)
    assert np.delete(leaned.log_odds, j) == pytest.approx(np.delete(plain.log_odds, j))
