"""Ease: every row of the table counts in the one case it is for, and mistakes in it are refused."""

from importlib.resources import files
from pathlib import Path

import pytest

from fitcheck.advice.ease import ClothRow, EaseRow, LayerRow, StageRow, ease_tables, load_ease
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts

TABLES = ease_tables()


@pytest.mark.parametrize("row", TABLES.ease, ids=lambda row: f"{row.garment} {row.at}")
def test_each_garment_has_its_own_ease(row: EaseRow) -> None:
    assert TABLES.wanted(FittingFacts(kind=row.garment))[row.at] == (row.least, row.most)
    others = {other.garment: (other.least, other.most) for other in TABLES.ease if other.at == row.at and other.garment != row.garment}
    assert all(TABLES.wanted(FittingFacts(kind=kind))[row.at] == ease for kind, ease in others.items())


@pytest.mark.parametrize("row", TABLES.layer, ids=lambda row: row.beneath)
def test_each_layer_adds_what_it_takes(row: LayerRow) -> None:
    bare = TABLES.wanted(FittingFacts(kind="coat"))
    worn = TABLES.wanted(FittingFacts(kind="coat", beneath=row.beneath))
    assert all(worn[at][0] - bare[at][0] == worn[at][1] - bare[at][1] == row.takes for at in bare)


@pytest.mark.parametrize("row", TABLES.cloth, ids=lambda row: row.cloth)
def test_each_cloth_adds_what_it_takes_and_is_spoken_of_alone(row: ClothRow) -> None:
    facts = FittingFacts(kind="jacket", cloth=row.cloth)
    bare = TABLES.wanted(FittingFacts(kind="jacket"))
    assert all(TABLES.wanted(facts)[at][0] - bare[at][0] == row.takes for at in bare)
    for other in TABLES.cloth:
        assert all((text in TABLES.says(facts)) == (other is row) for text in other.says)


@pytest.mark.parametrize("row", TABLES.stage, ids=lambda row: row.stage)
def test_each_stage_is_spoken_of_alone(row: StageRow) -> None:
    for other in TABLES.stage:
        assert all((text in TABLES.says(FittingFacts(stage=row.stage))) == (other is row) for text in other.says)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('source = "common practice: 2 to 3 in; from memory"\n', ""),
        ("from = 50", "from = -50"),
        ("from = 50", "from = nan"),
        ('at = "bust"', 'at = "elbow"'),
        ("[[ease]]", "[[ease]"),
    ],
)
def test_a_mistake_in_the_table_is_refused(tmp_path: Path, old: str, new: str) -> None:
    head, first, rows = (files("fitcheck.advice") / "knowledge" / "ease.toml").read_text("utf-8").partition("\n[[")
    assert old in first + rows
    (tmp_path / "ease.toml").write_text(head + (first + rows).replace(old, new, 1), "utf-8")
    with pytest.raises(KnowledgeError, match=r"ease\.toml does not hold together"):
        load_ease(tmp_path / "ease.toml")


def test_a_missing_table_is_refused(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match=r"ease\.toml"):
        load_ease(tmp_path / "ease.toml")
