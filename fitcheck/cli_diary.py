"""The diary's commands: parse, call, print."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitcheck.terminal import JsonOption, Units, say, say_data, show, speaks_plainly

if TYPE_CHECKING:  # heavy imports wait until a command needs them
    from fitcheck.diary.store import Diary

DIARY = typer.Option("--diary", envvar="FITCHECK_DIARY", help="The diary's folder, if not the usual one in your own data folder.")
OUT = typer.Option("--out", help="The page to write.")
UNITS = typer.Option(help="Of the page: cm, or in with fractions to 1/8.")
LISTED = 40
PlaceOption = Annotated[Path | None, DIARY]
UnitsOption = Annotated[Units, UNITS]

diary_app = typer.Typer(help="What the diary holds: list, notes, tape measurements, export, import, delete, rescue.", no_args_is_help=True)


@contextmanager
def _opened(place: Path | None, create: bool = False, aside: bool = False) -> Iterator["Diary"]:
    """The diary; what opening it changed in it is said first."""
    from fitcheck.diary.store import Diary
    from fitcheck.diary_commands import diary_folder

    with Diary(diary_folder(place), create) as held:
        for line in held.take_news():
            say(line, aside)
        yield held


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
    as_json: JsonOption = False,
) -> None:
    """Compare two rounds of one garment: what was solved, improved, unchanged or became worse, with the photos side by side."""
    from fitcheck.diary_commands import compare_rounds
    from fitcheck.report.words.units import fill

    with _opened(diary, aside=as_json) as held:
        comparison, missing = compare_rounds(held, first, second, units.value, out_path)
    if as_json:
        say_data(comparison)
        return _wrote(out_path, aside=True)
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
    as_json: JsonOption = False,
) -> None:
    """What all fittings of a wearer taught: her usual alterations with amounts and spread, on one sheet for the next pattern."""
    from fitcheck.advice.page_facts import alteration_names
    from fitcheck.core.diary import name_of
    from fitcheck.diary_commands import wearer_profile
    from fitcheck.report.words.sentences import side_words
    from fitcheck.report.words.units import length

    with _opened(diary, aside=as_json) as held:
        learnt = wearer_profile(held, wearer, maker, units.value, out_path)
    if as_json:
        say_data(learnt)
        return _wrote(out_path, aside=True)
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
    as_json: JsonOption = False,
) -> None:
    """Posture over time, and which earlier alterations no longer hold. It is about clothes, and no medical device."""
    from fitcheck.diary_commands import wearer_posture
    from fitcheck.report.words.units import fill

    with _opened(diary, aside=as_json) as held:
        found = wearer_posture(held, wearer, units.value, out_path)
    if as_json:
        say_data(found)
        return _wrote(out_path, aside=True)
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
    as_json: JsonOption = False,
) -> None:
    """List the fittings with their numbers."""
    from fitcheck.report.words.units import refill

    with _opened(diary, aside=as_json) as held:
        entries = held.entries(held.wearer(wearer) if wearer else None, garment)
    entries = [replace(entry, summary=refill(entry.summary, "cm")) for entry in entries]
    if as_json:
        return say_data(entries)
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

    if wearer is None and fitting is None:
        raise UsageError("A note is about somebody or something.", "Give --wearer NAME or --fitting NUMBER.")
    with _opened(diary) as held:
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
    from fitcheck.core.lengths import MM_PER_UNIT
    from fitcheck.diary.recording import add_tape

    factor = MM_PER_UNIT.get(unit)
    if factor is None:
        raise UsageError(f"{unit} is no unit of a tape.", "Give --unit mm, cm or in.")
    with _opened(diary) as held:
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

    with _opened(diary) as held:
        path = out_path or Path(f"{held.wearer(wearer)}.zip".replace("/", "_"))
        held_there = export_wearer(held, wearer, path)
    say(f"{_many(held_there['fittings'], 'fitting')}, {_many(held_there['photos'], 'photo')}. This file shows a body: keep it safe.")
    if apart := held_there["photos referenced"]:
        say(f"{_many(apart, 'photo')} only referenced by the diary {'is' if apart == 1 else 'are'} not in it: keep those files yourself.")
    _wrote(path)


@diary_app.command("import")
@speaks_plainly
def import_one(
    archive: Annotated[Path, typer.Argument(help="A zip that 'fitcheck diary export' wrote.")],
    name: Annotated[str | None, typer.Option("--as", help="Another name for her here.")] = None,
    diary: PlaceOption = None,
) -> None:
    """Bring in a wearer from a zip."""
    from fitcheck.diary.importing import import_wearer
    from fitcheck.diary.unpacking import checked_archive

    # the archive first: one that is none must not leave a new diary
    with checked_archive(archive) as checked, _opened(diary, create=True) as held:
        her, count = import_wearer(held, checked, name)
    say(f"{her}: {_many(count, 'fitting')}.")


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
    from fitcheck.diary.forgetting import copies_kept, delete_fitting, delete_wearer

    if (wearer is None) == (fitting is None):
        raise UsageError("Nothing was named to remove, or two things.", "Give a wearer's name, or --fitting NUMBER.")
    with _opened(diary) as held:
        what = (
            f"all of {held.wearer(wearer)}'s fittings, photos, pattern pieces and notes"
            if wearer
            else f"fitting {held.entry(fitting or 0).number}"
        )
        if not yes and not typer.confirm(f"Remove {what}? This cannot be undone"):
            raise typer.Exit(1)
        if wearer:
            removed = delete_wearer(held, wearer)
            say(f"Removed {', '.join(f'{count} {name}' for name, count in removed.items() if count) or 'her name'}.")
            if removed["photos referenced"]:
                say("Photos that were only referenced stay where you keep them.")
            for copy in copies_kept(held.folder):
                say(f"A copy of the damaged diary, in {copy}, may still hold hers: delete that folder yourself.")
        else:
            entry = delete_fitting(held, fitting or 0)
            say(f"Removed fitting {entry.number} ({entry.garment}, {entry.day.isoformat()}).")


@diary_app.command()
@speaks_plainly
def rescue(
    damaged: Annotated[
        Path | None, typer.Argument(help="The damaged diary.sqlite, only if you moved it out of the diary's folder.")
    ] = None,
    diary: PlaceOption = None,
) -> None:
    """Keep a copy of a damaged diary and make a new one of what can still be read of it."""
    from fitcheck.diary.rescue import rescue as rescue_diary
    from fitcheck.diary_commands import diary_folder

    done = rescue_diary(diary_folder(diary), damaged)
    say(f"{_many(done.fittings, 'fitting')} rescued, {done.lost} seen but not readable.")
    say(f"A copy of the damaged diary is in {done.copy}. It holds all names and measurements: delete it when you need it no longer.")


def _wrote(path: Path, aside: bool = False) -> None:
    say(f"Wrote {path}", aside)


def _many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
