"""The command about a pattern piece of one's own. No logic of the work lives here."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fitcheck.core.errors import UsageError
from fitcheck.terminal import BareDiary, JsonOption, Units, begun, progress, say, say_data, speaks_plainly

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitcheck.core.records import Floats

piece_app = typer.Typer()


class SheetPaper(StrEnum):
    """What the piece is printed on."""

    a4 = "a4"
    letter = "letter"
    sheet = "sheet"


@piece_app.command(cls=BareDiary)
@speaks_plainly
def piece(
    photos: Annotated[
        list[Path] | None,
        typer.Argument(
            help="One photo of the piece beside the scale card, or up to six that overlap; or a piece.toml. None: as the diary holds it."
        ),
    ] = None,
    name: Annotated[
        str,
        typer.Option(
            help="front, back, skirt_front, skirt_back, trousers_front, trousers_back (halves), sleeve: edges told by shape. Or any word."
        ),
    ] = "front",
    out_dir: Annotated[Path, typer.Option("--out", help="Where everything is written.")] = Path("piece"),
    size: Annotated[
        str | None,
        typer.Option(
            help="Of nested sizes yours: its number from the outermost inwards, or solid, long, short, dotted, dash_dot; edge: cut out."
        ),
    ] = None,
    at: Annotated[str | None, typer.Option(help="A pixel of the first photo on your piece, or on your size line: 1250,830.")] = None,
    allowance: Annotated[float | None, typer.Option(help="Seam allowance in the pattern, mm; 0 for none. Else as in fitting.toml.")] = None,
    partner: Annotated[
        list[Path] | None, typer.Option("--with", help="piece.toml of a piece that is sewn to it: altered along, seams compared.")
    ] = None,
    alter: Annotated[
        list[str] | None, typer.Option(help="An alteration and its amount in mm: forward_shoulder=10. Repeat for others.")
    ] = None,
    fitting: Annotated[
        Path | None, typer.Option(help="Folder of a fitting (or its fitcheck.json): this round's alterations, tape and allowance.")
    ] = None,
    one_side: Annotated[bool, typer.Option("--one-side", help="For one side only: the centre lines stay.")] = False,
    paper: Annotated[
        SheetPaper, typer.Option(help="a4 or letter in pages to tape together, or one sheet as large as the piece.")
    ] = SheetPaper.a4,
    units: Annotated[Units | None, typer.Option(help="Of what is written.")] = None,
    card_bar: Annotated[float | None, typer.Option(help="What the scale card's 100 mm bar measures on your print, in mm.")] = None,
    diary: Annotated[
        str | None,
        typer.Option(
            metavar="[FOLDER]",
            help="Keep the piece in your diary with its garment, and do the round of the garment's latest fitting on it.",
        ),
    ] = None,
    wearer: Annotated[str | None, typer.Option(help="Whose garment it is, for the diary.")] = None,
    garment: Annotated[str | None, typer.Option(help="Which garment it is, for the diary: the same word as at its fittings.")] = None,
    profile: Annotated[Path | None, typer.Option("--profile", envvar="FITCHECK_PROFILE", help="File of calibrated cameras.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Read a pattern piece from photos, alter it, and print it at full size."""
    from fitcheck.piece_photos import open_photos

    given = [] if not photos or (len(photos) == 1 and photos[0].suffix.lower() == ".toml") else photos
    opening = begun(lambda: open_photos(given))  # while the rest of the program is read
    from fitcheck.advice.prior import names_by_hand
    from fitcheck.advice.table import knowledge
    from fitcheck.core.fitting import read_fitting, with_options
    from fitcheck.diary_commands import recorder
    from fitcheck.photo.camera.lens_profiles import profile_path, read_lenses
    from fitcheck.piece_command import Wish, round_of, run
    from fitcheck.piece_diary import PieceDiary
    from fitcheck.report.words.units import fill, length

    folder = None if fitting is None else fitting if fitting.is_dir() else fitting.parent
    beside = folder or (photos[0].parent if photos else Path())
    facts = read_fitting(beside / "fitting.toml", names_by_hand(knowledge()))
    told = {"seam_allowance_mm": allowance, "card_bar_mm": card_bar, "units": units and units.value, "wearer": wearer, "garment": garment}
    facts = with_options(facts, **told)
    place = None
    if diary is not None:
        kept = recorder(diary, facts)
        place = PieceDiary(kept.folder, kept.wearer, kept.garment)
    of_round = () if fitting is None or diary is not None else round_of(fitting if fitting.is_file() else fitting / "fitcheck.json")
    wish = Wish(
        name=name,
        size=size or "",
        at_px=_pixel(at),
        allowance_mm=facts.seam_allowance_mm,
        bar_mm=facts.card_bar_mm,
        alterations=tuple((*_alteration(one), one_side) for one in alter or []),
        of_round=of_round,
        paper=paper.value,
        units=facts.told_in,
        lenses=tuple(read_lenses(profile or profile_path())),
    )
    with progress("reading the piece"):
        done = run(photos or [], partner or [], wish, facts, out_dir, place, opening.result)
    if as_json:
        say_data(
            {
                "pieces": [{"name": one.name, "edges_mm": _lengths(one.seam_lines()), "done": one.done} for one in done.pieces],
                "ease": [
                    {"at": row.at, "paper_mm": row.paper_mm, "tape_mm": row.tape_mm, "ease_mm": row.ease_mm, "says": row.says}
                    for row in done.ease
                ],
                "written": [str(path) for path in done.written],
            }
        )
        return
    lengths = [f"{edge} {length(mm, facts.told_in)}" for edge, mm in _lengths(done.before.seam_lines()).items()]
    say(f"{done.before.name.replace('_', ' ')}: {', '.join(lengths)}")
    for note in done.says:
        say(f"  {note}")
    for step in done.alterations:
        for seam in step.seams:
            say(f"  {step.id}, {seam.name}: {length(seam.after, facts.told_in)} and {length(seam.other_after, facts.told_in)}")
        for text in step.says:
            say(f"  {fill(text, facts.told_in)}")
    for row in done.ease:
        tape = (
            ""
            if row.tape_mm is None
            else f", tape {length(row.tape_mm, facts.told_in)}, ease {length(row.ease_mm or 0.0, facts.told_in)}: {row.says}"
        )
        say(f"  {row.at}: paper {length(row.paper_mm, facts.told_in)}{tape}")
    say("Wrote " + ", ".join(str(path) for path in done.written) + ".")


def _lengths(seams: "Mapping[str, Floats]") -> dict[str, float]:
    from fitcheck.pattern.lines import path_length

    return {edge: round(path_length(points), 1) for edge, points in seams.items() if not edge.startswith("mouth")}


def _alteration(text: str) -> tuple[str, float]:
    id, _, amount = text.partition("=")
    try:
        return id.strip(), float(amount)
    except ValueError:
        raise UsageError(f'"{text[:60]}" is no alteration with its amount.', "Write it as forward_shoulder=10, in mm.") from None


def _pixel(text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        raise UsageError(f'"{text[:40]}" is no pixel.', "Write it as X,Y from the photo's top left: 1250,830.") from None
    return x, y
