"""What folds and posture say, on the sheet that a dressmaker reviews."""

from dataclasses import replace

import pytest

from fitcheck.advice import rules_seen
from fitcheck.advice.folds import fold_rows
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.rules import review_sheet
from fitcheck.advice.rules_seen import UNREVIEWED, folds_and_leans


def test_readings_of_folds_and_leans_of_posture_are_shown(table: Knowledge) -> None:
    text = review_sheet(table)
    for row in fold_rows().values():
        assert f"| {row.name} (`{row.place}`) |" in text
    assert "| shoulder forward | 26 (15) | forward shoulder | +0.5 |" in text
    assert "| hip height difference, to either side | 0 (10) |" in text
