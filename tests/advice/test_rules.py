"""The review sheet shows everything, with its source, and marks what nobody has reviewed."""

from fitcheck.advice.ease import ease_tables
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.rules import UNREVIEWED, review_sheet


def test_everything_is_on_the_sheet(table: Knowledge) -> None:
    sheet = review_sheet(table)
    for row in table.alterations.values():
        assert f"(`{row.id}`)" in sheet
        assert row.amounts.source in sheet
        assert row.effects.source in sheet
        for direction in row.directions:
            for text in direction.texts():
                assert text in sheet
    for observable in table.observables.values():
        assert observable.name in sheet
    for finding in table.findings.values():
        assert finding.plus.replace(" {side}", "").replace("{amount}", "so much") in sheet
    for row in ease_tables().ease:
        assert row.source in sheet
    for term in table.glossary:
        assert f"**{term.word}**" in sheet


def test_what_is_not_reviewed_is_marked_and_counted(table: Knowledge) -> None:
    row = table.alterations["sway_back"]
    reviewed = row.model_copy(update={"amounts": row.amounts.model_copy(update={"reviewed": True})})
    changed = table.model_copy(update={"alterations": {**table.alterations, "sway_back": reviewed}})
    before, after = review_sheet(table), review_sheet(changed)
    assert before.count(UNREVIEWED) == after.count(UNREVIEWED) + 1
    assert f"Source: {row.amounts.source} {UNREVIEWED}." in before
    total = 2 * len(table.alterations) + len(table.findings) + len(table.observables)
    assert f"{total} entries with a source, {total} of them not yet reviewed" in before
    assert f"{total} entries with a source, {total - 1} of them not yet reviewed" in after


def test_tables_are_well_formed_markdown(table: Knowledge) -> None:
    blocks = [block.splitlines() for block in review_sheet(table).split("\n\n") if block.startswith("|")]
    assert len(blocks[0]) == 2 + len(table.findings)
    for lines in blocks:
        assert len({line.count("|") for line in lines}) == 1, lines[0]
    every = [line for lines in blocks for line in lines]
    assert "| forward shoulder (`forward_shoulder`) | 13 | by photos |" in every
    assert sum(line.startswith("| forward shoulder (`forward_shoulder`)") for line in every) == 1
