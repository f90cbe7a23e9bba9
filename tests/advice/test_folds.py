"""Readings of folds: what they usually mean is said; nothing of it counts before it is proven."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from fitcheck.advice.folds import FoldRow, fold_leans, fold_rows, in_words, load_folds
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.folds import FoldGroup
from fitcheck.core.records import Measurement, Side

FACTS = FittingFacts()
# What each reading usually means (the trade's table): the alteration it must speak for, and the direction.
MEANS = {
    "fold_fan_bust_point": ("full_small_bust", "plus"),
    "fold_verticals_below_bust": ("full_small_bust", "minus"),
    "fold_horizontals_bust": ("full_small_bust", "plus"),
    "fold_horizontals_blade": ("back_width", "plus"),
    "fold_horizontals_hip": ("hip_width", "plus"),
    "fold_v_neck_to_underarm": ("square_sloping_shoulder", "minus"),
    "fold_loose_horizontals_back_neck": ("square_sloping_shoulder", "plus"),
    "fold_diagonal_shoulder_to_centre": ("square_sloping_shoulder", "plus"),
    "fold_diagonal_neck_to_armhole": ("forward_shoulder", "plus"),
    "fold_loose_horizontals_back_waist": ("sway_back", "plus"),
    "fold_diagonal_blade_to_waist": ("rounded_erect_upper_back", "plus"),
    "fold_fan_shoulder_point": ("square_sloping_shoulder", "plus"),
    "fold_fan_side_neck_point": ("square_sloping_shoulder", "minus"),
    "fold_fan_hip_side": ("hip_width", "plus"),
    "fold_verticals_back_armhole": ("back_width", "minus"),
    "fold_smiles_abdomen": ("abdomen_width", "plus"),
    "fold_smiles_seat": ("seat_width", "plus"),
}


def group(row: FoldRow) -> FoldGroup:
    side: Side | None = "wearer_left" if row.sided else None
    return FoldGroup(row.id, row.at, side, row.views[0], (0,), 4.0, 3.0, 1.8, True)


FAN = group(fold_rows()["fold_fan_bust_point"])


def test_each_reading_has_its_source_and_means_what_the_trade_says() -> None:
    assert set(MEANS) == set(fold_rows())
    for place, row in fold_rows().items():
        assert row.source
        assert MEANS[place] in row.means.items()


def test_no_reading_that_is_not_proven_changes_an_alteration() -> None:
    gap = Measurement("centre_front_short", "bust", None, "front", 12.0, "mm", 1.5, {"pixel": 1.5})
    groups = [group(row) for row in fold_rows().values()]
    assert fold_leans(groups) == {}
    plain = solve([gap], knowledge(), FACTS)
    assert solve([gap], knowledge(), FACTS, leans=fold_leans(groups)).probabilities == plain.probabilities


def test_a_likelihood_ratio_is_the_only_door() -> None:
    """Found four times as often where the cause is there: the odds grow fourfold, once however often the reading is seen."""
    rows = {FAN.id + "_" + FAN.at: fold_rows()["fold_fan_bust_point"].model_copy(update={"likelihood_ratio": 4.0})}
    assert fold_leans([FAN, replace(FAN, side="wearer_right")], rows) == {"full_small_bust": pytest.approx(math.log(4))}
    assert fold_leans([replace(FAN, significant=False)], rows) == {}
    gap = [Measurement("centre_front_short", "bust", None, "front", 7.0, "mm", 3.0, {"pixel": 3.0})]
    before, after = (
        solve(gap, knowledge(), FACTS, leans=leans).probabilities["full_small_bust"] for leans in ({}, fold_leans([FAN], rows))
    )
    assert after > before + 0.1


def test_what_such_folds_usually_mean_is_said() -> None:
    faint = replace(group(fold_rows()["fold_smiles_seat"]), significant=False)
    told, unsure, odd = in_words([FAN, faint, replace(FAN, at="elbow")], knowledge())
    assert told.says.startswith("Taut folds fan towards the bust point on your left. Such folds usually mean: full bust or ")
    assert "decide nothing" in told.says
    assert "Here they are faint." in unsure.says
    assert odd.says == ""


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('source = "common practice"\n', "", "`source`"),
        ('full_small_bust = "plus"', 'full_bust = "plus"', "`full_bust` is no alteration"),
        ('full_small_bust = "plus"', 'full_small_bust = "more"', "`means.full_small_bust`"),
        ('at = "below_bust"', 'at = "below_bust"\ncolour = 3', "`colour`"),
        ('at = "below_bust"', 'at = "below_bust"\nlikelihood_ratio = 0', "`likelihood_ratio`"),
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
