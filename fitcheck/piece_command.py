"""What `fitcheck piece` does: photos or a piece.toml to the piece, the round's alterations done on it, and everything written."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any, Literal

import cv2
import numpy as np
from PIL import Image
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from fitcheck.advice.ease import ease_tables
from fitcheck.advice.table import knowledge
from fitcheck.core.camera import LensProfile
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.points import CARD_BAR_MM
from fitcheck.pattern.told import told
from fitcheck.photo.load import load_photo
from fitcheck.piece.altering import Alteration, alter_own, alterations_for
from fitcheck.piece.draw_own import drawn_piece
from fitcheck.piece.dxf_file import write_dxf
from fitcheck.piece.ease_check import EaseRow, check_ease
from fitcheck.piece.edge_names import named_piece
from fitcheck.piece.join import joined_views
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.piece_file import read_own, write_piece
from fitcheck.piece.plane import see_table
from fitcheck.piece.reading import Reading, read_piece
from fitcheck.piece.svg_file import write_svg
from fitcheck.piece.table import Table
from fitcheck.piece_diary import KeptPieces, PieceDiary, kept_pieces
from fitcheck.report.on_disk import in_place, plainly
from fitcheck.report.print.sheet import Below, write_sheet
from fitcheck.report.words.units import Units, fill, length

PaperChoice = Literal["a4", "letter", "sheet"]
MOST_PHOTOS = 6
SEEN_MM_PER_PX = 0.5  # of the picture to check by eye


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for.

    Attributes
    ----------
    size, at_px
        Which of several nested lines or pieces: by its dashes or number, or by a pixel of the first photo.
    alterations, of_round : tuple of (str, float, bool)
        Id, amount in mm, on one side only: asked for by hand, and those of a fitting's round, of which some may be for other pieces.
    """

    name: str = "front"
    size: str = ""
    at_px: tuple[float, float] | None = None
    allowance_mm: float = 15.0
    bar_mm: float = CARD_BAR_MM
    alterations: tuple[tuple[str, float, bool], ...] = ()
    of_round: tuple[tuple[str, float, bool], ...] = ()
    paper: PaperChoice = "a4"
    units: Units = "cm"
    lenses: tuple[LensProfile, ...] = ()


@dataclass(frozen=True, slots=True)
class Done:
    """What came of it: the pieces as they are now, the first one's before, every alteration, the ease, and what was written."""

    before: OwnPiece
    pieces: tuple[OwnPiece, ...]
    alterations: tuple[Alteration, ...] = ()
    ease: tuple[EaseRow, ...] = ()
    written: tuple[Path, ...] = ()
    says: tuple[str, ...] = field(default_factory=tuple)


class _Step(BaseModel):
    model_config = ConfigDict(extra="ignore")
    id: Annotated[str, Field(max_length=60)]
    side: Annotated[str, Field(max_length=20)] = "both"
    amount_mm: Annotated[float, Field(ge=-500, le=500, allow_inf_nan=False)]


class _Result(BaseModel):
    model_config = ConfigDict(extra="ignore")
    round: Annotated[tuple[_Step, ...], Field(max_length=20)]


def round_of(path: Path) -> tuple[tuple[str, float, bool], ...]:
    """The alterations of this round out of a `fitcheck.json`: id, amount in mm, on one side only.

    Raises
    ------
    UsageError
        It cannot be read or is no result of a fitting.
    """
    try:
        found = _Result.model_validate(json.loads(path.read_text("utf-8")))
    except OSError as error:
        raise UsageError(f"{path.name} cannot be read ({error.strerror}).", "Give the fitcheck.json of a fitting, or its folder.") from None
    except (ValueError, ValidationError, RecursionError):
        raise UsageError(
            f"{path.name} is no result of a fitting.", "Give the fitcheck.json that `fitcheck check` wrote, or its folder."
        ) from None
    return tuple((step.id, step.amount_mm, step.side != "both") for step in found.round)


def read_photos(paths: Sequence[Path], wish: Wish) -> tuple[OwnPiece, Table, Reading]:
    """The piece on one to six photos.

    Raises
    ------
    PhotoError, NothingMeasuredError, UsageError
        As `see_table`, `joined_views` and `read_piece`.
    """
    if len(paths) > MOST_PHOTOS:
        raise UsageError(f"{len(paths)} photos of one piece are more than are joined.", f"Give at most {MOST_PHOTOS}.")
    views = see_table([load_photo(path, "front") for path in paths], wish.bar_mm, wish.lenses)
    table = Table(joined_views(views))
    at = None if wish.at_px is None else views[0].on_table(np.array([wish.at_px], float))[0]
    reading = read_piece(table, wish.size, at)
    return named_piece(reading, wish.name, wish.allowance_mm, reading.mouths), table, reading


def run(
    inputs: Sequence[Path], partners: Sequence[Path], wish: Wish, facts: FittingFacts, out: Path, place: PieceDiary | None = None
) -> Done:
    """Read a piece, alter it and its partners, compare with the tape, write everything into a folder.

    Parameters
    ----------
    inputs : sequence of Path
        Photos, or a piece.toml; none, where the diary holds the piece.
    place : PieceDiary, optional
        Where every state is kept, before anything else is written; the pieces that are sewn to this one come from there too.

    Raises
    ------
    FitcheckError
        Something cannot be read, done or written.
    """
    kept = None if place is None else kept_pieces(place, wish.name, bool(wish.alterations))
    piece, seen = _first(inputs, wish, kept)
    others, says = [read_own(path) for path in partners], piece.notes
    if place is not None and kept is not None:
        if inputs:
            place.keep([piece, *others], kept.fitting if kept.done else None)
        others, wish, facts = _beside_it(kept, others, wish, facts)
        if kept.done and not wish.alterations:
            says = (*says, f"The round of fitting {kept.fitting} is in this piece already; nothing more is altered.")
    with plainly(out):
        out.mkdir(parents=True, exist_ok=True)
    written = [] if seen is None else [_seen(out / "seen.jpg", *seen)]
    written += _written(out, "piece", piece, None, wish, (), facts)
    before = [piece, *others]
    pieces, steps, passed_over = _altered(before, wish)
    settled = frozenset[str]() if kept is None else kept.settled
    changed = [(old, new) for old, new in zip(before, pieces, strict=True) if new.done != old.done and new.name not in settled]
    if place is not None and kept is not None and changed:
        place.keep([new for _, new in changed], kept.fitting)
    for old, new in changed:
        written += _written(out, f"{new.name}_altered", new, old, wish, steps, facts)
    ease = check_ease(pieces, facts, ease_tables()) if len(pieces) > 1 or piece.name == "back" else ()
    return Done(piece, pieces, steps, ease, tuple(written), (*says, *passed_over))


def _first(inputs: Sequence[Path], wish: Wish, kept: KeptPieces | None) -> tuple[OwnPiece, tuple[Table, Reading] | None]:
    """The piece as it is to begin with, and what was seen of it where photos are given."""
    if not inputs:
        return _last_kept(kept, wish.name), None
    if len(inputs) == 1 and inputs[0].suffix.lower() == ".toml":
        return read_own(inputs[0]), None
    piece, table, reading = read_photos(inputs, wish)
    return piece, (table, reading)


def _beside_it(kept: KeptPieces, others: Sequence[OwnPiece], wish: Wish, facts: FittingFacts) -> tuple[list[OwnPiece], Wish, FittingFacts]:
    """What the diary adds to a piece: those sewn to it that were not given, the fitting's round, and her tape where none is told."""
    given = {other.name for other in others}
    tape = facts.tape.model_copy(update=dict(kept.tape_mm) | facts.tape.given_mm())
    found = [*others, *(one for one in kept.others if one.name not in given)]
    return found, replace(wish, of_round=kept.round), facts.model_copy(update={"tape": tape})


def _altered(pieces: Sequence[OwnPiece], wish: Wish) -> tuple[tuple[OwnPiece, ...], tuple[Alteration, ...], tuple[str, ...]]:
    """The pieces after all that is asked for, each alteration that was done, and a sentence for each of the round's that is not theirs."""
    now, steps, says = tuple(pieces), [], []
    for id, amount, one_side in (*wish.alterations, *wish.of_round):
        if (id, amount, one_side) in wish.of_round and id not in alterations_for(now):
            says.append(f'This round\'s alteration "{id}" is not for this piece.')
            continue
        done = alter_own(now, id, amount, one_side)
        steps.append(done)
        by_name = {one.after.name: one.after for one in done.pieces}
        now = tuple(by_name.get(one.name, one) for one in now)
    return now, tuple(steps), tuple(says)


def _last_kept(kept: KeptPieces | None, name: str) -> OwnPiece:
    if kept is None:
        raise UsageError("No photo of a piece is given.", "Name one, or a piece.toml; or give --diary, --wearer and --garment.")
    if kept.piece is None:
        raise UsageError(f'The diary holds no piece "{name}" of this garment.', "Give its photo first, with --name.")
    return kept.piece


def _written(
    out: Path, stem: str, piece: OwnPiece, before: OwnPiece | None, wish: Wish, steps: Sequence[Alteration], facts: FittingFacts
) -> list[Path]:
    """The files of one piece: as data, and as it is drawn."""
    write_piece(out / f"{stem}.toml", piece)
    marks = [mark for step in steps for one in step.pieces if one.after.name == piece.name for mark in one.marks]
    sheet = drawn_piece(piece, before, marks)
    title = piece.name.replace("_", " ") + (" altered" if before is not None else "")
    below = Below([fill(text, wish.units) for step in steps for text in instructions(step, facts, wish.units)])
    write_sheet(out / f"{stem}.pdf", sheet, title, wish.paper, True, below, wish.units)
    write_svg(out / f"{stem}.svg", sheet, title, wish.units)
    write_dxf(out / f"{stem}.dxf", sheet, wish.units)
    return [out / f"{stem}.{end}" for end in ("toml", "pdf", "svg", "dxf")]


def instructions(step: Alteration, facts: FittingFacts, units: Units) -> tuple[str, ...]:
    """How an alteration is made, and what has to follow on pieces that were not read; lengths filled in."""
    row = knowledge().alterations[step.id]
    direction = row.direction(step.amount_mm)
    sentences = told((*direction.steps_for(facts), *direction.matching_for(facts)), step.changed)
    head = f"{direction.name}, {length(abs(step.amount_mm), units)}:"
    return (head, *(fill(text, units, step.amount_mm) for text in sentences), *(fill(text, units) for text in step.says))


def _seen(path: Path, table: Table, reading: Reading) -> Path:
    """The table from straight above with what was read drawn on it, to be checked by eye."""
    outline = reading.outline
    picture = table.picture(SEEN_MM_PER_PX, outline.min(axis=0) - 30, outline.max(axis=0) + 30)
    image = picture.rgb.copy()

    def draw(points: Any, colour: tuple[int, int, int], closed: bool = False) -> None:
        px = np.round(picture.to_px(np.asarray(points)) * 16).astype(np.int32).reshape(-1, 1, 2)
        cv2.polylines(image, [px], closed, colour, 2, cv2.LINE_AA, 4)

    for i, edge in enumerate(reading.edges):
        draw(edge, (230, 160, 0) if i == reading.fold else (0, 170, 0))
        px = np.round(picture.to_px(edge[:1])[0]).astype(int)
        cv2.circle(image, (int(px[0]), int(px[1])), 7, (220, 0, 0), 2, cv2.LINE_AA)
    for dart in reading.darts:
        draw(dart, (200, 0, 200))
    for notch in reading.notches:
        px = np.round(picture.to_px(notch[None])[0]).astype(int)
        cv2.circle(image, (int(px[0]), int(px[1])), 12, (0, 120, 255), 2, cv2.LINE_AA)
    if reading.grain is not None:
        draw(reading.grain, (0, 120, 255))
    with in_place(path) as waiting:
        Image.fromarray(image).save(waiting, "JPEG", quality=88)
    return path
