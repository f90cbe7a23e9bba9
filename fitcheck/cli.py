"""Commands: parse, call, print. No logic of the work lives here."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

import fitcheck
from fitcheck.cli_diary import add_diary_commands
from fitcheck.cli_page import page_app
from fitcheck.cli_piece import piece_app
from fitcheck.cli_trade import trade
from fitcheck.terminal import BareDiary, JsonOption, Paper, Units, begun, progress, say, say_data, show, speaks_plainly

if TYPE_CHECKING:  # heavy imports wait until a command needs them
    from concurrent.futures import Future

    from fitcheck.core.check import FitCheck
    from fitcheck.core.progress import Progress
    from fitcheck.core.settings import Settings
    from fitcheck.diary_commands import Recorder
    from fitcheck.film.taken_in import Opening, TakenIn

app = typer.Typer(
    help="Photographs of a pinned fitting in; what does not fit and this round's alterations out. Everything stays on this computer.",
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
)
LIKELY = 1.5  # an unclear gap this many times its uncertainty is worth a line in the terminal; the report shows all
PROFILE = typer.Option(
    "--profile", envvar="FITCHECK_PROFILE", help="File of calibrated cameras, if not the usual one in your own settings folder."
)


class KeepPhotos(StrEnum):
    """What the diary does with photos."""

    copy = "copy"
    reference = "reference"


def _version(wanted: bool) -> None:
    if wanted:
        say(f"fitcheck {fitcheck.__version__}")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version and stop.")] = False,
) -> None:
    """Photo-assisted fit fault checker."""


@app.command(cls=BareDiary)
@speaks_plainly
def check(
    folder: Annotated[
        Path,
        typer.Argument(
            help="Folder with front, right, back and left photos (jpg, png, webp, heic), one or more; fitting.toml if you like. Or a film "
            "(mp4, mov, webm) in which you turn before a phone that stands still, and pause for three seconds in each view."
        ),
    ],
    out_dir: Annotated[
        Path | None, typer.Option("--out", help="Where report.html and fitcheck.json go. Usually the photo folder itself.")
    ] = None,
    units: Annotated[Units | None, typer.Option(help="Of the report: cm, or in with fractions to 1/8.")] = None,
    card_bar: Annotated[
        float | None, typer.Option(help="What the 254 mm bar of a floor sheet (or the card's 100 mm bar) measures on your print, in mm.")
    ] = None,
    card_height: Annotated[
        float | None, typer.Option(help="From the floor up to the lower edge of the card's lowest squares, in mm: makes heights exact.")
    ] = None,
    height_mm: Annotated[
        float | None, typer.Option(help="The wearer's height in mm: the scale where there is no card (much less exact).")
    ] = None,
    scale_corners: Annotated[
        list[str] | None,
        typer.Option(
            help="A plain sheet or bank card held where the scale card should hang, for one view: its size (a4, letter, id1) and its "
            "corners in pixels, clockwise from the top left: 'front:a4:120,80 640,85 634,815 118,811'. Repeat for other views."
        ),
    ] = None,
    point: Annotated[
        list[str] | None,
        typer.Option(
            help="Put a body point right in one photo, in pixels: 'shoulder_point:wearer_right:right=612,498'. Repeat for others; "
            "points and seams can also stand in placed.toml beside the photos. They win, and the whole result follows. One far from where "
            "the body has it is asked about and hardly counts until you say ',sure' after its pixels (sure = true in the file)."
        ),
    ] = None,
    at: Annotated[
        list[str] | None,
        typer.Option(
            help="For a film: the moment of one view, where you want another than the one it chose: 'back=0:21.5'. Repeat for others."
        ),
    ] = None,
    profile: Annotated[Path | None, PROFILE] = None,
    diary: Annotated[
        str | None,
        typer.Option(metavar="[FOLDER]", help="Record this fitting in your diary (in your own data folder, or in the folder named here)."),
    ] = None,
    wearer: Annotated[str | None, typer.Option(help="Whose fitting it is, for the diary.")] = None,
    garment: Annotated[str | None, typer.Option(help="Which garment it is, for the diary: the same word in every round.")] = None,
    retake: Annotated[bool, typer.Option("--retake", help="A repeat of today's fitting, to learn how well photos of you repeat.")] = False,
    keep_photos: Annotated[
        KeepPhotos, typer.Option(help="Copy the photos into the diary, without their metadata, or only remember their place.")
    ] = KeepPhotos.copy,
    as_json: JsonOption = False,
) -> None:
    """Check one fitting: photos to report.html and fitcheck.json."""
    from fitcheck.vision.person.pose import get_ready

    ready = begun(get_ready)  # the pose model loads while the rest of the program is read
    from fitcheck.advice.prior import names_by_hand
    from fitcheck.advice.table import knowledge
    from fitcheck.body.placed import read_placed
    from fitcheck.core.fitting import read_fitting, with_options
    from fitcheck.core.settings import Settings
    from fitcheck.film.open_film import is_film
    from fitcheck.film.taken_in import of_film, of_folder
    from fitcheck.film.which_moments import read_moments
    from fitcheck.photo.camera.lens_profiles import known_camera, profile_path, read_lenses
    from fitcheck.photo.without_card.given_corners import read_sheets
    from fitcheck.report.write import can_write, write_report

    film, folder = (folder, folder.parent) if is_film(folder) else (None, folder)
    moments = read_moments(at or [], film)
    told = {"card_bar_mm": card_bar, "card_height_mm": card_height, "height_mm": height_mm, "units": units and units.value}
    told |= {"wearer": wearer, "garment": garment}
    facts = with_options(read_fitting(folder / "fitting.toml", names_by_hand(knowledge())), **told)
    record: Recorder | None = None
    if diary is not None:
        from fitcheck.diary_commands import recorder

        record = recorder(diary, facts, keep_photos.value, retake)
    lenses = read_lenses(profile or profile_path())
    known_camera(facts.camera, lenses)
    settings = Settings(
        facts,
        read_sheets(scale_corners or []),
        lenses,
        *read_placed(folder / "placed.toml", point or []),
        last_round=None if record is None else record.last_round(),
    )
    opening = of_film(film, moments, out_dir or folder) if film else of_folder(folder)
    can_write(out_dir or folder)
    if film:
        ready.result()  # its views are told by pose while it is read
    with progress("opening the photos") as tell:
        result, taken = _measured(opening, settings, ready, tell)
        tell("writing the report", 0.95)
        page, data = write_report(result, out_dir or folder, facts.told_in)
    number = None if record is None else record.record(result, taken.paths)  # before anything is said: whoever listens may stop listening
    if taken.says:
        say(taken.says, aside=as_json)
    if as_json:
        from fitcheck.report.result import to_json

        say_data(to_json(result))
    else:
        _print(result, facts.told_in)
    say(f"Report: {page}\nData:   {data}", aside=as_json)
    if record is not None:
        say(f"Diary:  recorded as fitting {number} in {record.folder}", aside=as_json)


@app.command()
@speaks_plainly
def card(
    out_path: Annotated[Path, typer.Option("--out", help="The PDF to write.")] = Path("card.pdf"),
    paper: Annotated[Paper, typer.Option(help="Paper in your printer.")] = Paper.a4,
) -> None:
    """Print at 100 %: scale card, floor sheets, toe strips, point markers and how to set up the photos."""
    from fitcheck.report.print.card import write_card

    write_card(out_path, paper.value)
    say(f"Wrote {out_path}. Print it at 100 % (no fitting to page) and measure the long bar of a floor sheet (254 mm).")


@app.command()
@speaks_plainly
def calibrate(
    folder: Annotated[Path, typer.Argument(help="Folder with 8 or more photos of the scale card, tilted differently, all by one camera.")],
    camera: Annotated[str, typer.Option(help="The camera's name, where the photos do not say it.")] = "",
    profile: Annotated[Path | None, PROFILE] = None,
) -> None:
    """Measure your camera's lens once, so that lengths and depths are surer; used from then on for photos of that camera."""
    from fitcheck.photo.camera.lens_profiles import keep_lens, profile_path
    from fitcheck.photo.card.calibrate import calibrate as measure_lens
    from fitcheck.photo.load import load_folder

    lens = measure_lens(load_folder(folder), camera)
    keep_lens(profile or profile_path(), lens)
    say(
        f"{lens.camera_model}, {lens.photos} photos: focal length {100 * lens.focal:.1f} % of the picture's diagonal, known to "
        f"{200 * lens.focal_sd:.1f} % (95 %); bending k1 {lens.k1:+.3f} ± {2 * lens.k1_sd:.3f}, k2 {lens.k2:+.3f} ± {2 * lens.k2_sd:.3f}.\n"
        f"Kept in {profile or profile_path()}"
    )


@app.command()
@speaks_plainly
def rules() -> None:
    """Show what fitcheck knows of the trade, to be read and corrected by a dressmaker."""
    from fitcheck.advice.rules import review_sheet
    from fitcheck.advice.table import knowledge

    typer.echo(review_sheet(knowledge()), nl=False)


# after the commands above, so that the help begins with `check`
add_diary_commands(app)
app.add_typer(trade)
app.add_typer(page_app)
app.add_typer(piece_app)


def _measured(opening: "Opening", settings: "Settings", ready: "Future[None]", tell: "Progress") -> "tuple[FitCheck, TakenIn]":
    """What was given to result. It is opened and seen while the rest of the program is read."""
    from threadpoolctl import threadpool_limits

    from fitcheck.stages.kept import Kept, stage_keys
    from fitcheck.stages.people import find_everyone
    from fitcheck.stages.see import see_photos

    kept = Kept()

    def looked_at() -> "TakenIn":
        taken = opening(tell)
        ready.result()
        with threadpool_limits(1, "blas"):  # as all stages
            kept.under(stage_keys(taken.photos, settings))("see", see_photos, taken.photos, find_everyone(taken.photos))
        return taken

    looking = begun(looked_at)
    from fitcheck.pipeline import check_fit

    taken = looking.result()
    return check_fit(taken.photos, settings, tell, kept), taken


def _print(result: "FitCheck", units: Any) -> None:
    """The short answer in the terminal."""
    from fitcheck.core.flags import FLAGS
    from fitcheck.report.words.sentences import flags_of_photo
    from fitcheck.report.words.units import amount, fill, margin

    say(fill(result.round.summary, units))
    likely = {m.key for m in result.measurements if abs(m.value) > LIKELY * m.sd}
    shown = [f for f in result.findings if f.verdict == "present"]
    shown += [f for f in result.findings if f.verdict == "unclear" and likely & set(f.measurements)]
    if shown:
        show(("what does not fit", ""), [(fill(finding.says, units), finding.verdict) for finding in shown])
    if result.round.steps:
        rows = [
            (step.name, step.where, f"{amount(step.cut_mm or step.amount.amount_mm, units)} ± {margin(step.amount.sd_mm, units)}")
            for step in result.round.steps
        ]
        show(("this round", "", "amount"), rows)
    for line in result.round.last_round:
        say(fill(line, units))
    for title, lines in (("Then look at:", result.round.look_again), ("What would help most:", result.round.would_help[:3])):
        for i, line in enumerate(lines):
            say(f"{title if i == 0 else ''}\n  {fill(line, units)}".lstrip("\n"))
    if result.round.undecided:
        say(fill(result.round.undecided, units))
    for photo in result.photos:
        for code in flags_of_photo(photo):
            say(f"{photo.photo.name}: {FLAGS[code].says} {FLAGS[code].retake}")
    for code in result.flags:
        say(f"{FLAGS[code].says} {FLAGS[code].retake}")
