from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from fitcheck.advice.folds import FoldRow, fold_measurements, fold_rows, in_words, load_folds, with_folds
from fitcheck.advice.solve import Solution, solve
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.folds import FoldGroup
from fitcheck.core.records import Measurement, Side

FACTS = FittingFacts()
# What each reading usually means (the trade's table): the alteration it must speak for, and the sign of its amount.
MEANS = {
    "fold_fan_bust_point": ("full_small_bust", 1),
    "fold_verticals_below_bust": ("full_small_bust", -1),
    "fold_horizontals_bust": ("full_small_bust", 1),
    "fold_horizontals_blade": ("back_width", 1),
    "fold_horizontals_hip": ("hip_width", 1),
    "fold_v_neck_to_underarm": ("square_sloping_shoulder", -1),
    "fold_loose_horizontals_back_neck": ("square_sloping_shoulder", 1),
    "fold_diagonal_shoulder_to_centre": ("square_sloping_shoulder", 1),
    "fold_diagonal_neck_to_armhole": ("forward_shoulder", 1),
    "fold_loose_horizontals_back_waist": ("sway_back", 1),
    "fold_diagonal_blade_to_waist": ("rounded_erect_upper_back", 1),
    "fold_fan_shoulder_point": ("square_sloping_shoulder", 1),
    "fold_fan_side_neck_point": ("square_sloping_shoulder", -1),
    "fold_fan_hip_side": ("hip_width", 1),
    "fold_verticals_back_armhole": ("back_width", -1),
    "fold_smiles_abdomen": ("abdomen_width", 1),
    "fold_smiles_seat": ("seat_width", 1),
}


def group(row: FoldRow, take_up_mm: float = 3.0) -> FoldGroup:
    side: Side | None = "wearer_left" if row.sided else None
    return FoldGroup(row.id, row.at, side, row.views[0], (0,), 4.0, take_up_mm, 0.6 * take_up_mm, True)


def solved(groups: Sequence[FoldGroup], others: Sequence[Measurement] = ()) -> tuple[Solution, tuple[Measurement, ...]]:
    shown = fold_measurements(groups, others)
    return solve([*others, *shown], with_folds(knowledge(), shown), FACTS), shown


def gap(value: float) -> Measurement:
    return Measurement("centre_front_short", "bust", None, "front", value, "mm", 1.5, {"pixel": 1.5})


def test_there_are_readings_enough_and_each_has_its_source() -> None:
    assert len(fold_rows()) >= 15
    assert all(row.source for row in fold_rows().values())
    assert set(MEANS) == set(fold_rows())


@pytest.mark.parametrize("place", sorted(MEANS))
def test_a_reading_makes_what_it_means_more_probable_and_with_the_right_sign(place: str) -> None:
    alteration, sign = MEANS[place]
    before = solve([], knowledge(), FACTS).probabilities[alteration]
    after, _ = solved([group(fold_rows()[place])])
    assert after.probabilities[alteration] > before
    amounts = [a.amount_mm for a in after.considered if a.id == alteration]
    assert amounts
    assert all(sign * amount > 0 for amount in amounts)


@pytest.mark.parametrize("place", sorted(MEANS))
def test_faint_folds_of_each_reading_change_nothing(place: str) -> None:
    faint, _ = solved([replace(group(fold_rows()[place]), significant=False)])
    assert faint.probabilities == solve([], knowledge(), FACTS).probabilities


def test_a_fold_alone_is_weaker_than_one_with_its_gap_and_orders_no_cut() -> None:
    fan = group(fold_rows()["fold_fan_bust_point"])
    alone, (weak,) = solved([fan])
    (strong,) = fold_measurements([fan], [gap(4.0)])
    assert weak.sd == pytest.approx(1.5 * strong.sd)
    assert not alone.needed
    with_gap = solve([gap(12.0)], knowledge(), FACTS).probabilities["full_small_bust"]
    both, _ = solved([fan], [gap(12.0)])
    assert both.probabilities["full_small_bust"] > with_gap


def test_faint_groups_and_unknown_readings_do_not_count() -> None:
    fan = group(fold_rows()["fold_fan_bust_point"])
    assert fold_measurements([replace(fan, significant=False), replace(fan, at="elbow")], []) == ()
    assert with_folds(knowledge(), ()) == knowledge()


def test_without_heights_the_strength_stands_in_with_more_doubt() -> None:
    fan = group(fold_rows()["fold_fan_bust_point"])
    (measured,) = fold_measurements([fan], [gap(4.0)])
    (guessed,) = fold_measurements([replace(fan, take_up_mm=None, take_up_sd_mm=None)], [gap(4.0)])
    assert guessed.sd / guessed.value > measured.sd / measured.value


def test_it_is_said_what_a_group_suggests_and_how_it_counted() -> None:
    fan = group(fold_rows()["fold_fan_bust_point"])
    faint = replace(group(fold_rows()["fold_smiles_seat"]), significant=False)
    shown = fold_measurements([fan, faint], [])
    table = with_folds(knowledge(), shown)
    told, unsure = in_words([fan, faint], shown, solve(shown, table, FACTS), table)
    assert told.says.startswith("Taut folds fan towards the bust point on your left. This usually means: full bust or ")
    assert "for no gap that goes with it could be measured" in told.says
    assert unsure.says.endswith("too faint to count.")
    others = [gap(12.0)]
    shown = fold_measurements([fan], others)
    table = with_folds(knowledge(), shown)
    (with_gap,) = in_words([fan], shown, solve([*others, *shown], table, FACTS), table)
    assert "no gap" not in with_gap.says
    assert "It counted clearly." in with_gap.says


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('source = "common practice; numbers: estimate"\n', "", "`source`"),
        ("full_small_bust = 1.6", "full_bust = 1.6", "`full_bust` is no alteration"),
        ('"hem_front_rise"', '"hem_back_rise"', "`hem_back_rise` is no measurement"),
        ('at = "below_bust"', 'at = "below_bust"\ncolour = 3', "`colour`"),
        ('id = "fold_verticals"\nat = "below_bust"', 'id = "fold_fan"\nat = "bust_point"', "stands there twice"),
        ("[[fold]]", "[[fold]", "cannot be read"),
    ],
)
def test_a_faulty_table_is_refused(tmp_path: Path, old: str, new: str, fault: str) -> None:
    text = (Path(__file__).parents[2] / "fitcheck/advice/knowledge/folds.toml").read_text()
    _, _, rows = text.partition("\n[[fold]]")
    rows = "[[fold]]" + rows
    assert old in rows
    file = tmp_path / "folds.toml"
    file.write_text(rows.replace(old, new, 1))
    with pytest.raises(KnowledgeError, match=fault):
        load_folds(file, knowledge())
    file.write_text(rows)
    assert load_folds(file, knowledge()) == dict(fold_rows())
