"""Commands about the trade itself: which size to cut, what a word means. No logic of the work lives here."""

from pathlib import Path
from typing import Annotated

import typer
from rich.markup import escape

from fitcheck.terminal import Units, out, speaks_plainly

trade = typer.Typer()
_GIVEN = "Tape, in cm or in as --units says."


@trade.command()
@speaks_plainly
def size(
    chart: Annotated[Path, typer.Option(help="The maker's body table, typed in as TOML (see sample_images/sizes.toml).")],
    fitting: Annotated[Path | None, typer.Option(help="fitting.toml with a [tape] table; options below go before it.")] = None,
    high_bust: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    full_bust: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    waist: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    hip: Annotated[float | None, typer.Option(help=_GIVEN)] = None,
    back_waist: Annotated[float | None, typer.Option(help="From the bone at the back of the neck to the waist.")] = None,
    kind: Annotated[str | None, typer.Option(help="top, dress, jacket, coat, skirt or trousers.")] = None,
    beneath: Annotated[str | None, typer.Option(help="What is worn under it: nothing, light or thick.")] = None,
    cloth: Annotated[str | None, typer.Option(help="plain, thick or quilted.")] = None,
    units: Annotated[Units | None, typer.Option(help="Of the tape given here, and of the answer.")] = None,
) -> None:
    """Say which size to cut, what to expect to alter, and the ease there will be."""
    from fitcheck.advice.ease import ease_tables
    from fitcheck.advice.size import choose_size, read_chart
    from fitcheck.advice.table import knowledge
    from fitcheck.core.fitting import FittingFacts, read_fitting, with_options
    from fitcheck.report.units import fill

    facts = read_fitting(fitting) if fitting else FittingFacts()
    unit = units.value if units else facts.units
    factor = {"cm": 10.0, "in": 25.4}[unit]
    given = {"high_bust": high_bust, "bust": full_bust, "waist": waist, "hip": hip, "back_waist_length": back_waist}
    tape = facts.tape.given_mm() | {name: value * factor for name, value in given.items() if value is not None}
    facts = with_options(facts, tape=tape, kind=kind, beneath=beneath, cloth=cloth)
    advice = choose_size(facts.tape, read_chart(chart), knowledge(), ease_tables(), facts)
    for line in advice.says:
        out.print(escape(fill(line, unit)), soft_wrap=True)


@trade.command()
@speaks_plainly
def explain(
    id: Annotated[str, typer.Argument(help="An alteration, a measurement or a word: forward_shoulder, side_seam_tilt, toile.")],
    units: Annotated[Units, typer.Option(help="Of the lengths.")] = Units.cm,
) -> None:
    """Explain one alteration, measurement or word: what it is, how it looks, how it is done, cautions, sources."""
    from fitcheck.advice.explain import explain as told
    from fitcheck.advice.table import knowledge
    from fitcheck.report.units import fill

    text = told(id, knowledge())
    for field in ("{amount}", "{half_amount}"):
        text = text.replace(field, {"{amount}": "the amount", "{half_amount}": "half of it"}[field])
    typer.echo(fill(text, units.value), nl=False)
