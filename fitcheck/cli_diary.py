"""The diary's commands: parse, call, print."""

from pathlib import Path
from typing import Annotated

import typer

from fitcheck.terminal import Units, say, show, speaks_plainly

DIARY = typer.Option("--diary", envvar="FITCHECK_DIARY", help="The diary's folder, if not the usual one in your own data folder.")
OUT = typer.Option("--out", help="The page to write.")
UNITS = typer.Option(help="Of the page: cm, or in with fractions to 1/8.")
LISTED = 40
PlaceOption = Annotated[Path | None, DIARY]
UnitsOption = Annotated[Units, UNITS]

diary_app = typer.Typer(help="What the diary holds: list, notes, tape measurements, export, import, delete, rescue.", no_args_is_help=True)


def add_diary_commands(app: typer.Typer) -> None:
    """Register the commands that use the diary."""
    for command in (compare, profile, posture):
        app.command()(command)
    app.add_typer(diary_app, name="diary")


@speaks_plainly
def compare(
    first: Annotated[int | None, typer.Argument(help="Number of the earlier fitting ('fitcheck diary list' shows them).")] = None,
    second: Annotated[int | None, typer.Argument(help="Number of the later fitting. Without numbers: the last two rounds.")] = None,
    out_path: Annotated[Path, OUT] = Path("compare.html"),
    units: UnitsOption = Units.cm,
    diary: PlaceOption = None,
) -> None:
    """Compare two rounds of one garment: what was solved, improved, unchanged or became worse, with the photos side by side."""
    from fitcheck.diary_commands import compare_rounds, diary_folder
    from fitcheck.report.words.units import fill

    comparison, missing = compare_rounds(diary_folder(diary), first, second, units.value, out_path)
    say(fill(comparison.verdict, units.value))
    for line in comparison.cautions:
        say(line)
    if missing:
        said = "1 photo is" if missing == 1 else f"{missing} photos are"
        say(f"{said} missing or changed and not shown; all measurements are kept.")
    _wrote(out_path)


@speaks_plainly
def profile(
    wearer: Annotated[str, typer.Argument(help="Her name in the diary.")],
    maker: Annotated[str | None, typer.Option(help="Only garments by this maker's patterns (maker in fitting.toml).")] = None,
    out_path: Annotated[Path, OUT] = Path("profile.html"),
    units: UnitsOption = Units.cm,
    diary: PlaceOption = None,
) -> None:
    """What all fittings of a wearer taught: her usual alterations with amounts and spread, on one sheet for the next pattern."""
    from fitcheck.advice.page_facts import alteration_names
    from fitcheck.core.diary import name_of
    from fitcheck.diary_commands import diary_folder, wearer_profile
    from fitcheck.report.words.sentences import side_words
    from fitcheck.report.words.units import length

    learnt = wearer_profile(diary_folder(diary), wearer, maker, units.value, out_path)
    rows = [
        (name_of(u, alteration_names()), side_words(u.side), f"{u.needed} of {u.garments}", length(abs(u.amount_mm), units.value))
        for u in learnt.usual
    ]
    if rows:
        show(("alteration", "side", "garments", "usually"), rows)
    else:
        say("Nothing learnt yet: no fitting in the diary asked for an alteration.")
    _wrote(out_path)


@speaks_plainly
def posture(
    wearer: Annotated[str, typer.Argument(help="Her name in the diary.")],
    out_path: Annotated[Path, OUT] = Path("posture.html"),
    units: UnitsOption = Units.cm,
    diary: PlaceOption = None,
) -> None:
    """Posture over time, and which earlier alterations no longer hold. It is about clothes, and no medical device."""
    from fitcheck.diary_commands import diary_folder, wearer_posture
    from fitcheck.report.words.units import fill

    found = wearer_posture(diary_folder(diary), wearer, units.value, out_path)
    for line in (found.verdict, *(one.says for one in found.outdated), *found.cautions):
        say(fill(line, units.value))
    _wrote(out_path)


@diary_app.command("list")
@speaks_plainly
def list_fittings(
    wearer: Annotated[str | None, typer.Option(help="Only hers.")] = None,
    garment: Annotated[str | None, typer.Option(help="Only of this garment.")] = None,
    every: Annotated[bool, typer.Option("--all", help=f"Also those before the latest {LISTED}.")] = False,
    diary: PlaceOption = None,
) -> None:
    """List the fittings with their numbers."""
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    with Diary(diary_folder(diary)) as held:
        entries = held.entries(held.wearer(wearer) if wearer else None, garment)
    if not entries:
        say("No fitting recorded.")
        return
    if len(entries) > LISTED and not every:
        say(f"{len(entries)} fittings, the latest {LISTED}:")
        entries = entries[-LISTED:]
    rows = []
    for e in entries:
        stage = f"{e.stage}, repeat" if e.retake else e.stage
        said = e.summary.removeprefix("This round: ")
        said = said if len(said) < 60 else said[:57] + "..."
        rows.append((str(e.number), e.day.isoformat(), e.wearer, e.garment, stage, str(e.photos), said))
    show(("no.", "day", "wearer", "garment", "stage", "photos", "what it said"), rows)


@diary_app.command()
@speaks_plainly
def note(
    text: Annotated[str, typer.Argument(help="What to remember.")],
    wearer: Annotated[str | None, typer.Option(help="About this wearer.")] = None,
    fitting: Annotated[int | None, typer.Option(help="About this fitting.")] = None,
    diary: PlaceOption = None,
) -> None:
    """Write a note about a wearer or a fitting."""
    from fitcheck.core.errors import UsageError
    from fitcheck.diary.recording import add_note
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    if wearer is None and fitting is None:
        raise UsageError("A note is about somebody or something.", "Give --wearer NAME or --fitting NUMBER.")
    with Diary(diary_folder(diary)) as held:
        add_note(held, text, wearer, fitting)
    say("Noted.")


@diary_app.command()
@speaks_plainly
def tape(
    wearer: Annotated[str, typer.Argument(help="Her name in the diary.")],
    name: Annotated[str, typer.Argument(help="What was measured: bust, high bust, waist, hip ...")],
    value: Annotated[float, typer.Argument(help="The number on the tape.", min=0.1, max=5000)],
    unit: Annotated[str, typer.Option(help="mm, cm or in.")] = "cm",
    diary: PlaceOption = None,
) -> None:
    """Keep a tape measurement of today."""
    from fitcheck.core.errors import UsageError
    from fitcheck.diary.recording import add_tape
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    factor = {"mm": 1.0, "cm": 10.0, "in": 25.4}.get(unit)
    if factor is None:
        raise UsageError(f"{unit} is no unit of a tape.", "Give --unit mm, cm or in.")
    with Diary(diary_folder(diary)) as held:
        add_tape(held, wearer, name, value * factor)
    say("Kept.")


@diary_app.command("export")
@speaks_plainly
def export_one(
    wearer: Annotated[str, typer.Argument(help="Her name in the diary.")],
    out_path: Annotated[Path | None, typer.Option("--out", help="The zip to write; usually NAME.zip.")] = None,
    diary: PlaceOption = None,
) -> None:
    """Write all of one wearer's, photos included, into a zip with a manifest."""
    from fitcheck.diary.archive import export_wearer
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    with Diary(diary_folder(diary)) as held:
        path = out_path or Path(f"{held.wearer(wearer)}.zip".replace("/", "_"))
        held_there = export_wearer(held, wearer, path)
    say(f"{held_there['fittings']} fittings, {held_there['photos']} photos. This file shows a body: keep it safe.")
    _wrote(path)


@diary_app.command("import")
@speaks_plainly
def import_one(
    archive: Annotated[Path, typer.Argument(help="A zip that 'fitcheck diary export' wrote.")],
    name: Annotated[str | None, typer.Option("--as", help="Another name for her here.")] = None,
    diary: PlaceOption = None,
) -> None:
    """Bring in a wearer from a zip."""
    from fitcheck.diary.archive import import_wearer
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    with Diary(diary_folder(diary), create=True) as held:
        her, count = import_wearer(held, archive, name)
    say(f"{her}: {count} fittings.")


@diary_app.command()
@speaks_plainly
def delete(
    wearer: Annotated[str | None, typer.Argument(help="Her name in the diary: removes all of hers.")] = None,
    fitting: Annotated[int | None, typer.Option(help="Remove this fitting only.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
    diary: PlaceOption = None,
) -> None:
    """Remove a wearer with all of hers, or one fitting, for good, and say what was removed."""
    from fitcheck.core.errors import UsageError
    from fitcheck.diary.forgetting import delete_fitting, delete_wearer
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    if (wearer is None) == (fitting is None):
        raise UsageError("Nothing was named to remove, or two things.", "Give a wearer's name, or --fitting NUMBER.")
    with Diary(diary_folder(diary)) as held:
        what = f"all of {held.wearer(wearer)}'s fittings, photos and notes" if wearer else f"fitting {held.entry(fitting or 0).number}"
        if not yes and not typer.confirm(f"Remove {what}? This cannot be undone"):
            raise typer.Exit(1)
        if wearer:
            removed = delete_wearer(held, wearer)
            say(f"Removed {', '.join(f'{count} {name}' for name, count in removed.items() if count) or 'her name'}.")
            if removed["photos referenced"]:
                say("Photos that were only referenced stay where you keep them.")
        else:
            entry = delete_fitting(held, fitting or 0)
            say(f"Removed fitting {entry.number} ({entry.garment}, {entry.day.isoformat()}).")


@diary_app.command()
@speaks_plainly
def rescue(
    damaged: Annotated[Path, typer.Argument(help="The damaged diary.sqlite that you moved out of the diary's folder.")],
    diary: PlaceOption = None,
) -> None:
    """Copy what can still be read of a damaged diary into a new one in the same folder."""
    from fitcheck.diary.rescue import rescue as rescue_into
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    with Diary(diary_folder(diary), create=True) as held:
        rescued, lost = rescue_into(damaged, held)
    say(f"{rescued} fittings rescued, {lost} seen but not readable.")


def _wrote(path: Path) -> None:
    say(f"Wrote {path}")
