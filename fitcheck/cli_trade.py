"""Commands about the trade itself: which size to cut, what a word means. No logic of the work lives here."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitcheck.core.errors import UsageError
from fitcheck.core.lengths import MM_PER_UNIT
from fitcheck.terminal import JsonOption, Paper, Units, say, say_data, speaks_plainly

if TYPE_CHECKING:
    from fitcheck.core.fitting import FittingFacts

trade = typer.Typer()
_GIVEN = "Tape, in cm or in as --units says."


def _facts(fitting: Path | None) -> "FittingFacts":
    """What a fitting.toml says that the user named; unlike the one beside the photos it has to be there."""
    from fitcheck.advice.prior import names_by_hand
    from fitcheck.advice.table import knowledge
    from fitcheck.core.fitting import FittingFacts
    from fitcheck.core.toml_file import read_toml

    if fitting is None:
        return FittingFacts()
    return read_toml(fitting, FittingFacts, context={"observed": names_by_hand(knowledge())})


@trade.command()
@speaks_plainly
def size(
    chart: Annotated[Path, typer.Option(help="The maker's body table, typed in as TOML (see sample_images/sizes.toml).")],
    fitting: Annotated[Path | None, typer.Option(help=r"fitting.toml with a \[tape] table; options below go before it.")] = None,
    high_bust: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    full_bust: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    waist: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    hip: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    back_waist: Annotated[float | None, typer.Option(help="From the bone at the back of the neck to the waist.")] = None,
    kind: Annotated[str | None, typer.Option(help="top, dress, jacket, coat, skirt or trousers.")] = None,
    beneath: Annotated[str | None, typer.Option(help="What is worn under it: nothing, light or thick.")] = None,
    cloth: Annotated[str | None, typer.Option(help="plain, thick or quilted.")] = None,
    units: Annotated[Units | None, typer.Option(help="Of the tape given here, and of the answer.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Say which size to cut, what to expect to alter, and the ease there will be."""
    from fitcheck.advice.ease import ease_tables
    from fitcheck.advice.size import choose_size, read_chart
    from fitcheck.advice.table import knowledge
    from fitcheck.core.fitting import with_options, with_tape_options
    from fitcheck.report.words.units import fill

    facts = _facts(fitting)
    unit = units.value if units else facts.units
    given = {"high_bust": high_bust, "bust": full_bust, "waist": waist, "hip": hip, "back_waist_length": back_waist}
    facts = with_options(with_tape_options(facts, unit, **given), kind=kind, beneath=beneath, cloth=cloth)
    advice = choose_size(facts.tape, read_chart(chart), knowledge(), ease_tables(), facts)
    says = [fill(line, unit) for line in advice.says]
    if as_json:
        say_data(replace(advice, says=tuple(says)))
        return
    for line in says:
        say(line)


@trade.command()
@speaks_plainly
def explain(
    id: Annotated[str, typer.Argument(help="An alteration, a measurement or a word: forward_shoulder, side_seam_tilt, toile.")],
    units: Annotated[Units, typer.Option(help="Of the lengths.")] = Units.cm,
) -> None:
    """Explain one alteration, measurement or word: what it is, how it looks, how it is done, cautions, sources."""
    from fitcheck.advice.explain import explain as told
    from fitcheck.advice.table import knowledge
    from fitcheck.report.words.units import fill

    typer.echo(fill(told(id, knowledge()), units.value), nl=False)


@trade.command()
@speaks_plainly
def sheet(
    id: Annotated[str, typer.Argument(help="The alteration: forward_shoulder, full_small_bust ...")],
    amount: Annotated[float, typer.Option(help="In cm or in, as --units says; below zero for the contrary.")],
    out_path: Annotated[Path, typer.Option("--out", help="The PDF to write.")] = Path("sheet.pdf"),
    fitting: Annotated[
        Path | None, typer.Option(help=r"fitting.toml: what is sewn, how the front is shaped, a \[tape] table to draft to.")
    ] = None,
    one_side: Annotated[bool, typer.Option("--one-side", help="For one side only: the centre lines stay.")] = False,
    full_size: Annotated[bool, typer.Option("--full-size", help="1:1 on pages to tape together; else small on one page.")] = False,
    paper: Annotated[Paper, typer.Option(help="Paper in your printer.")] = Paper.a4,
    units: Annotated[Units, typer.Option(help="Of the amount.")] = Units.cm,
) -> None:
    """Draw an alteration on a schematic block, drafted to your measurements where you gave some, with its steps and its seams."""
    from fitcheck.advice.table import knowledge
    from fitcheck.core.toml_file import meant
    from fitcheck.pattern.alter import altered_for
    from fitcheck.pattern.drafts.block import Body
    from fitcheck.pattern.drawing.lay_out import lay_out
    from fitcheck.pattern.drawing.svg import drawn_seams
    from fitcheck.pattern.told import told
    from fitcheck.report.print.sheet import Below, room, write_sheet
    from fitcheck.report.words.sentences import seam_says
    from fitcheck.report.words.units import fill, length

    facts = _facts(fitting)
    amount_mm = amount * MM_PER_UNIT[units.value]
    row = knowledge().alterations.get(id)
    if row is None:
        raise UsageError(f'There is no alteration "{id[:60]}"; {meant(id, knowledge().alterations)}', "'fitcheck rules' shows them all.")
    largest = row.amounts.most(amount_mm)
    if not row.amounts.smallest <= abs(amount_mm) <= largest or (amount_mm < 0 and row.minus is None):
        least, most = (length(mm, units.value) for mm in (row.amounts.smallest, largest))
        raise UsageError("This amount is not sensible.", f"Give {least} to {most}{' or as much below zero' if row.minus else ''}.")
    changed = altered_for(facts, id, amount_mm, one_side)
    if changed is None and row.pieces == ("sleeve",):
        raise UsageError(f"A sleeveless garment has no {row.name}.", 'Say in fitting.toml that it has a sleeve: sleeve = "set_in".')
    if changed is None:
        raise UsageError(
            f"A front without a dart or princess seam has no {row.name}.", 'Say how it is shaped in fitting.toml: front = "dart".'
        )
    title = f"{row.direction(amount_mm).name}, {length(abs(amount_mm), units.value)}"
    seams = drawn_seams(changed)
    direction = row.direction(amount_mm)
    sentences = told((*direction.steps_for(facts), *direction.matching_for(facts), *knowledge().follows), changed)
    steps = [fill(sentence, units.value, amount_mm) for sentence in sentences]
    steps += ["The block is drafted to your measurements."] if Body.of(facts.tape) != Body() else []
    below = Below(steps, seams)
    drawn = lay_out(changed, None if full_size else room(paper.value, below, units.value))
    scale = write_sheet(out_path, drawn, title, paper.value, full_size, below, units.value)
    say(f"Wrote {out_path}, scale 1:{scale:g}. Print it at 100 % and measure the bar.")
    for seam in seams:
        say(f"  {seam.name}: {seam_says(seam, units.value)}")
    if changed.note:
        say(f"  {changed.note}")
