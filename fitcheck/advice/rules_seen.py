"""The part of the review sheet about what is only seen: what folds say, and how far posture leans the odds."""

from collections.abc import Iterable

from fitcheck.advice.folds import fold_rows
from fitcheck.advice.prior import LEANS, MOST_LEAN, UNEVEN
from fitcheck.advice.rows import Knowledge

UNREVIEWED = "**[not reviewed]**"


def folds_and_leans(table: Knowledge) -> Iterable[str]:
    """Lines of markdown."""
    yield from ("", "## Folds", "", "| folds | photos | said | speaks for | source |", "|---|---|---|---|---|")
    for row in fold_rows().values():
        source = row.source if row.reviewed else f"{row.source} {UNREVIEWED}"
        said = row.says.replace(" {side}", "")
        yield f"| {row.name} (`{row.place}`) | {', '.join(row.views)} | {said} | {', '.join(row.names(table))} | {source} |"
    yield from ("", "## What posture makes likelier", "")
    yield f"Posture alone never decides: it changes the log odds of an alteration by {MOST_LEAN:g} at most. {UNREVIEWED}"
    yield from ("", "| posture | usual (spread) | alteration | one spread more changes its log odds by |", "|---|---|---|---|")
    for id, mean, spread, alteration, slope in LEANS:
        yield f"| {id.replace('_', ' ')} | {mean:g} ({spread:g}) | {table.alterations[alteration].name} | {slope:+g} |"
    for id, spread, alteration, slope in UNEVEN:
        yield f"| {id.replace('_', ' ')}, to either side | 0 ({spread:g}) | {table.alterations[alteration].name} | {slope:+g} |"
