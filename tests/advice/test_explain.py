"""Everything the tables know of one thing, and a helpful word where they know nothing."""

import re

import pytest

from fitcheck.advice.explain import explain
from fitcheck.advice.folds import fold_rows
from fitcheck.advice.rows import Knowledge
from fitcheck.core.errors import UsageError
from fitcheck.report.words.units import fill


def test_every_alteration_and_measurement_is_explained(table: Knowledge) -> None:
    for row in table.alterations.values():
        text = explain(row.id, table)
        for heading in ("What it is", "How it looks", "How it is done", "Cautions", "Sources"):
            assert heading in text
        assert row.amounts.source in text
        plain = [step for direction in row.directions for step in direction.texts()[: len(direction.steps)] if "{" not in step]
        assert all(step in text for step in plain)
        assert not re.search(r"\{(?!(mm|cut|deg):[\d.]+\})", text)
    for observable in table.observables.values():
        text = explain(observable.id, table)
        assert observable.ask in text
        assert observable.tolerance.source in text


def test_what_can_be_behind_a_measurement_are_the_alterations_that_show_in_it(table: Knowledge) -> None:
    text = explain("side_seam_tilt", table)
    for id, row in table.alterations.items():
        assert (f"(`{id}`)" in text) == bool(row.effects.per_10.get("side_seam_tilt"))


def test_every_reading_of_folds_is_explained(table: Knowledge) -> None:
    for place, row in fold_rows().items():
        text = explain(place, table)
        assert text.startswith(f"# {row.name[0].upper()}{row.name[1:]}")
        assert all(f"(`{id}`)" in text for id in row.means)
        assert row.source in text
        assert "{side}" not in text
    assert explain("fold_smiles", table) == explain("fold_smiles_abdomen", table)[:-1] + "\n" + explain("fold_smiles_seat", table)


def test_every_word_of_the_glossary_is_explained(table: Knowledge) -> None:
    for term in table.glossary:
        text = explain(term.word, table)
        alteration = term.word.replace(" ", "_").lower() in table.alterations
        assert alteration or (term.means in text and term.source in text)


def test_words_have_two_names(table: Knowledge) -> None:
    assert explain("muslin", table) == explain("Toile", table)
    assert explain("Forward Shoulder", table).startswith("# Forward shoulder")


def test_an_unknown_name_is_told_with_the_nearest(table: Knowledge) -> None:
    with pytest.raises(UsageError, match="sway_back"):
        explain("swayback", table)
    with pytest.raises(UsageError, match="fitcheck rules"):
        explain("xyzzy", table)


def test_steps_are_worked_with_an_amount(table: Knowledge) -> None:
    """13 mm is the larger usual amount of a forward shoulder; half of 10 at the neck is 5."""
    text = explain("forward_shoulder", table)
    assert "Here with {mm:13} of it." in text
    assert "draw a new shoulder seam line {cut:13} above the old one" in text
    assert "lower the neck end of the shoulder seam by {cut:5}" in explain("neck_forward", table)


def test_the_most_at_once_is_told_of_each_direction_where_they_differ(table: Knowledge) -> None:
    assert "- Full bust: more than {mm:80} at once asks" in explain("full_small_bust", table)
    assert "- Small bust: more than {mm:40} at once asks" in explain("full_small_bust", table)
    assert "- More than {mm:25} at once asks" in explain("forward_shoulder", table)


def test_nothing_is_said_to_lie_nothing_off(table: Knowledge) -> None:
    for id in table.alterations:
        for units in ("cm", "in"):
            assert not re.search(r"(?<![\d./])0 (cm|in)\b", fill(explain(id, table), units)), id
