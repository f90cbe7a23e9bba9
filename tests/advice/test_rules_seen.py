"""What folds and posture say, on the sheet that a dressmaker reviews."""

from fitcheck.advice import rules_seen
from fitcheck.advice.folds import FoldRow, fold_rows
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.rules import review_sheet
from fitcheck.advice.rules_seen import UNREVIEWED, folds_and_leans


def test_readings_of_folds_and_leans_of_posture_are_shown(table: Knowledge) -> None:
    text = review_sheet(table)
    for row in fold_rows().values():
        assert f"| {row.name} (`{row.place}`) |" in text
    assert "| shoulder forward | 26 (15) | forward shoulder | +0.5 |" in text
    assert "| hip height difference, to either side | 0 (10) |" in text


def test_a_reading_that_was_not_reviewed_says_so(table: Knowledge, monkeypatch) -> None:
    """By hand: one reading with its side left open, reviewed and not."""
    row = FoldRow.model_validate(
        {"id": "fan", "at": "bust", "name": "fan at the bust", "says": "A fan points at the {side} bust.", "views": ("front", "right")}
        | {"sided": True, "means": {"full_small_bust": "plus"}, "source": "a book", "reviewed": True}
    )
    name = table.alterations["full_small_bust"].plus.name
    for reviewed, source in ((True, "a book"), (False, f"a book {UNREVIEWED}")):
        one = row.model_copy(update={"reviewed": reviewed})
        monkeypatch.setattr(rules_seen, "fold_rows", lambda one=one: {one.place: one})
        told = [line for line in folds_and_leans(table) if line.startswith("| fan")]
        assert told == [f"| fan at the bust (`fan_bust`) | front, right | A fan points at the bust. | {name} | {source} |"]


def test_how_far_posture_leans_is_said_with_its_limit_and_never_as_a_verdict(table: Knowledge) -> None:
    (said,) = (line for line in folds_and_leans(table) if line.startswith("Posture alone"))
    assert said.startswith("Posture alone never decides: it changes the log odds of an alteration by 1 at most.")
