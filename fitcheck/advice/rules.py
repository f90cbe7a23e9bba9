"""The knowledge as a review sheet: everything fitcheck believes about the trade, in plain markdown, for a dressmaker to strike out."""

from collections.abc import Iterable

from fitcheck.advice.cut_garment import row_for
from fitcheck.advice.ease import EaseTables, ease_tables
from fitcheck.advice.rows import Alteration, Direction, Effects, Knowledge, Sourced
from fitcheck.advice.rules_seen import UNREVIEWED, folds_and_leans
from fitcheck.advice.triggers import triggers

_GROUPS = {
    1: "Length and balance",
    2: "Bust level",
    3: "Bust and back width",
    4: "Waist, abdomen, hip and seat width",
    5: "Armhole and neck edges",
    6: "Hems",
}
_SIDES = {"both": "whole width", "one": "one side only", "either": "both sides or one"}


def review_sheet(table: Knowledge) -> str:
    """All tables as one markdown text: findings with tolerances, alterations with amounts and effects, folds, posture, ease, glossary.

    What no experienced fitter has agreed to yet is marked.
    """
    parts = [
        _head(table),
        _findings(table),
        _alterations(table),
        _triggers(table),
        _cut(table),
        folds_and_leans(table),
        _ease(ease_tables()),
        _glossary(table),
    ]
    return "\n".join(line for part in parts for line in part) + "\n"


def _head(table: Knowledge) -> Iterable[str]:
    blocks = [*(o.tolerance for o in table.observables.values()), *table.findings.values()]
    blocks += [block for a in table.alterations.values() for block in (a.amounts, a.effects)]
    open_ones = sum(not block.reviewed for block in blocks)
    yield "# What fitcheck knows about fitting"
    yield ""
    yield f"{len(blocks)} entries with a source, {open_ones} of them not yet reviewed by an experienced fitter: {UNREVIEWED}."
    yield "Lengths in millimetres. Left and right are the wearer's. In the steps, `{amount}` stands for the wearer's own amount."


def _findings(table: Knowledge) -> Iterable[str]:
    yield from ("", "## Findings", "", "| measured | above zero | below zero | tolerance | source |", "|---|---|---|---|---|")
    for id, row in table.findings.items():
        observable, at = table.places[id]
        tolerance = observable.tolerance
        name = f"{observable.name}{f' ({at})' if at else ''}"
        texts = " | ".join(text.replace(" {side}", "").replace("{amount}", "so much") for text in (row.plus, row.minus))
        doubt = f", doubt {tolerance.doubt:g}" if tolerance.doubt else ""
        yield f"| {name} | {texts} | {tolerance.amount:g} {observable.unit}{doubt} | {_source(tolerance)}; reading: {_source(row)} |"


def _alterations(table: Knowledge) -> Iterable[str]:
    group = 0
    for alteration in table.alterations.values():
        if alteration.group != group:
            group = alteration.group
            yield from ("", f"## Alterations, group {group}: {_GROUPS[group]}")
        yield from _alteration(alteration)


def _alteration(a: Alteration) -> Iterable[str]:
    amounts, effects = a.amounts, a.effects
    yield from ("", f"### {a.name[0].upper()}{a.name[1:]} (`{a.id}`)", "")
    yield f"- Moves: {a.line}, on {', '.join(a.pieces)}; {_SIDES[a.sides]}. Full at {a.full_at}, nothing at {a.nothing_at}."
    yield f"- The amount is {a.amount_is}. For {', '.join(a.garments)}."
    low, high = amounts.usual
    below = f" ({amounts.largest_minus:g} below zero)" if amounts.largest_minus else ""
    yield (
        f"- Usual {low:g} to {high:g}, at least {amounts.smallest:g}, at most {amounts.largest:g}{below}; needed by about "
        f"{amounts.probability:.0%} of wearers (spread {amounts.spread:g}). Source: {_source(amounts)}."
    )
    shown = ", ".join(f"`{key}` {value:+g} ({effects.shows[key]})" for key, value in effects.per_10.items())
    one_side = "".join(f", on the right only `{key}` {value:+g}" for key, value in effects.one_side_per_10.items())
    yield f"- Lacking 10 of it shows as {shown}{one_side}. Source: {_source(effects)}."
    if effects.sewn_per_10:
        sewn = ", ".join(f"`{key}` {value:+g}{_spread(effects, key)}" for key, value in effects.sewn_per_10.items())
        yield f"- Dresses sewn from altered paper and draped show {sewn}; so much is foretold. Source: simulation."
    if effects.trade_per_10:
        yield f"- Not used of the trade: {', '.join(f'`{key}` {value:+g}' for key, value in effects.trade_per_10.items())}."
    for direction in a.directions:
        yield from _direction(direction)


def _spread(effects: Effects, key: str) -> str:
    return f" (figures differ by {effects.sewn_spread_per_10[key]:g})" if key in effects.sewn_spread_per_10 else ""


def _direction(direction: Direction) -> Iterable[str]:
    yield f"- {direction.name[0].upper()}{direction.name[1:]}:"
    yield from (f"  - {text}" for text in direction.steps)
    labelled = {
        "with a dart": direction.steps_dart,
        "with a princess seam": direction.steps_princess,
        "with neither": direction.steps_none,
        "half tissue": direction.steps_half,
        "full tissue": direction.steps_full,
    }
    yield from (f"  - ({label}) {text}" for label, texts in labelled.items() for text in texts)
    yield from (f"  - then: {text}" for text in direction.matching)
    yield from (f"  - look again at {text}" for text in direction.look_again)


def _triggers(table: Knowledge) -> Iterable[str]:
    """What each alteration is known by, computed from the tables above."""
    yield from ("", "## How each alteration is known", "")
    yield "A usual amount of each, put through the fit equation with what photos show, and with what can be measured by hand besides."
    yield from ("", "| alteration | amount | known |", "|---|---|---|")
    for row in table.alterations.values():
        yield f"| {row.name} (`{row.id}`) | {row.amounts.usual[1]:g} | {triggers().get(row.id, 'not computed')} |"


def _cut(table: Knowledge) -> Iterable[str]:
    """What is still possible on a cut garment."""
    yield from ("", "## On a cut garment", "", "| alteration | way | edge of 10 | steps | source |", "|---|---|---|---|---|")
    for a in table.alterations.values():
        for direction, sign in zip(a.directions, (1.0, -1.0), strict=False):
            row = row_for(a, sign)
            edge = f"{10 * row.edge:g}" if row.way in ("let out", "take in") else ""
            steps = " ".join((*row.steps, *row.steps_dart, *row.steps_princess, *row.steps_none, *row.matching))
            yield f"| {direction.name} | {row.way} | {edge} | {steps} | {_source(row)} |"


def _ease(tables: EaseTables) -> Iterable[str]:
    yield from ("", "## Ease", "")
    yield from (f"- {row.garment}, {row.at}: {row.least:g} to {row.most:g}. Source: {row.source}." for row in tables.ease)
    yield from (f"- {row.beneath} beneath takes {row.takes:g}. Source: {row.source}." for row in tables.layer)
    yield from (f"- {row.cloth} cloth takes {row.takes:g}. {' '.join((*row.says, 'Source:'))} {row.source}." for row in tables.cloth)
    yield from (f"- After the {row.stage}: {' '.join(row.says)} Source: {row.source}." for row in tables.stage)


def _glossary(table: Knowledge) -> Iterable[str]:
    yield from ("", "## Words", "")
    for term in table.glossary:
        yield f"- **{term.word}**{f' ({term.also})' if term.also else ''}: {term.means}"


def _source(block: Sourced) -> str:
    return block.source if block.reviewed else f"{block.source} {UNREVIEWED}"
