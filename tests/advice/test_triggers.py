"""The table of how each alteration is known is that which the tables of knowledge give today."""

import pytest

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.rules import review_sheet
from fitcheck.advice.triggers import known, triggers


def test_every_alteration_has_been_computed_and_is_printed(table: Knowledge) -> None:
    """Each once in the table, and none that nothing can claim."""
    rows = [line.split(" | ") for line in review_sheet(table).splitlines() if line.endswith((" by photos |", " inferred |", " by hand |"))]
    assert [name.split("`")[1] for name, *_ in rows] == list(table.alterations)
    assert {last.strip(" |") for *_, last in rows} == {"by photos", "inferred", "by hand"}
    assert set(triggers()) == set(table.alterations), "run python -m tests.benchmarks.triggers"


@pytest.mark.parametrize(
    ("id", "expected"),
    [("forward_shoulder", "by photos"), ("full_small_bust", "by photos"), ("upper_arm", "by hand"), ("hem_length", "by hand")],
)
def test_what_photos_show_and_what_only_a_tape_tells(table: Knowledge, id: str, expected: str) -> None:
    """Shoulder seam and bust gap are seen; no photo tells the tightness of a sleeve or the wanted length."""
    assert known(table.alterations[id], table) == triggers()[id] == expected
