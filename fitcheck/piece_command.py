"""What `fitcheck piece` does: photos or a piece.toml to the piece, the round's alterations done on it, and everything written."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from threading import Thread
from typing import Annotated

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from fitcheck.advice.ease import ease_tables
from fitcheck.core.camera import LensProfile, Photo
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.points import CARD_BAR_MM
from fitcheck.core.records import Floats
from fitcheck.piece.altering import Alteration, alter_own, alterations_for
from fitcheck.piece.askew import told_askew
from fitcheck.piece.dxf_file import get_ready
from fitcheck.piece.ease_check import EaseRow, check_ease
from fitcheck.piece.edge_names import placed_piece
from fitcheck.piece.join import joined_views
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.piece_file import read_own, write_piece
from fitcheck.piece.plane import see_table
from fitcheck.piece.reading import Reading, read_piece
from fitcheck.piece.table import Table
from fitcheck.piece_diary import KeptPieces, PieceDiary, kept_pieces
from fitcheck.piece_photos import open_photos
from fitcheck.piece_sheets import PaperChoice, on_paper, write_as, write_seen
from fitcheck.report.on_disk import plainly
from fitcheck.report.words.units import Units


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


@dataclass(frozen=True, slots=True)
class Seen:
    """A piece on photos: the table as they show it, what was read, and how the table's places become those of the piece, shape (2, 3)."""

    table: Table
    reading: Reading
    matrix: Floats


def open_table(photos: Sequence[Photo], bar_mm: float, lenses: Sequence[LensProfile]) -> Table:
    """The table that one to six photos show.

    Raises
    ------
    PhotoError, NothingMeasuredError
        As `see_table` and `joined_views`.
    """
    return Table(joined_views(see_table(photos, bar_mm, lenses)))


def read_on(table: Table, wish: Wish, at_mm: Floats | None) -> tuple[OwnPiece, Seen]:
    """The piece on a table; `at_mm` a place that was chosen on it.

    Raises
    ------
    PhotoError, NothingMeasuredError, UsageError
        As `read_piece`.
    """
    reading = read_piece(table, wish.size, at_mm)
    piece, matrix = placed_piece(reading, wish.name, wish.allowance_mm, reading.mouths)
    askew = told_askew(piece.grain, piece.edges.get(piece.fold or "centre"), bool(piece.fold))
    piece = replace(piece, notes=(*piece.notes, *askew))
    return piece, Seen(table, reading, matrix)


def read_photos(photos: Sequence[Photo], wish: Wish) -> tuple[OwnPiece, Table, Reading]:
    """The piece on one to six photos.

    Raises
    ------
    PhotoError, NothingMeasuredError, UsageError
        As `open_table` and `read_on`.
    """
    table = open_table(photos, wish.bar_mm, wish.lenses)
    at = None if wish.at_px is None else table.views[0].on_table(np.array([wish.at_px], float))[0]
    piece, seen = read_on(table, wish, at)
    return piece, table, seen.reading


def run(
    inputs: Sequence[Path],
    partners: Sequence[Path],
    wish: Wish,
    facts: FittingFacts,
    out: Path,
    place: PieceDiary | None = None,
    opened: Callable[[], Sequence[Photo]] | None = None,
) -> Done:
    """Read a piece, alter it and its partners, compare with the tape, write everything into a folder.

    Parameters
    ----------
    inputs : sequence of Path
        Photos, or a piece.toml; none, where the diary holds the piece.
    place : PieceDiary, optional
        Where every state is kept, before anything else is written; the pieces that are sewn to this one come from there too.
    opened : callable, optional
        Gives the photos, if they are being opened already.

    Raises
    ------
    FitcheckError
        Something cannot be read, done or written.
    """
    kept = None if place is None else kept_pieces(place, wish.name, bool(wish.alterations))
    if inputs:
        Thread(target=get_ready, daemon=True).start()  # four tenths of a second, while the photos are read
    piece, seen = _first(inputs, wish, kept, opened)
    others, says = [read_own(path) for path in partners], piece.notes
    if place is not None and kept is not None:
        if inputs:
            place.keep([piece, *others], kept.fitting if kept.done else None)
        others, wish, facts = beside_it(kept, others, wish, facts)
        if kept.done and not wish.alterations:
            says = (*says, f"The round of fitting {kept.fitting} is in this piece already; nothing more is altered.")
    with plainly(out):
        out.mkdir(parents=True, exist_ok=True)
    written = [] if seen is None else [write_seen(out / "seen.jpg", *seen)]
    written += _written(out, "piece", piece, None, wish, (), facts)
    before = [piece, *others]
    pieces, steps, passed_over = altered(before, wish)
    settled = frozenset[str]() if kept is None else kept.settled
    changed = [(old, new) for old, new in zip(before, pieces, strict=True) if new.done != old.done and new.name not in settled]
    if place is not None and kept is not None and changed:
        place.keep([new for _, new in changed], kept.fitting)
    for old, new in changed:
        written += _written(out, f"{new.name}_altered", new, old, wish, steps, facts)
    ease = check_ease(pieces, facts, ease_tables()) if len(pieces) > 1 or piece.name == "back" else ()
    return Done(piece, pieces, steps, ease, tuple(written), (*says, *passed_over))


def _first(
    inputs: Sequence[Path], wish: Wish, kept: KeptPieces | None, opened: Callable[[], Sequence[Photo]] | None
) -> tuple[OwnPiece, tuple[Table, Reading] | None]:
    """The piece as it is to begin with, and what was seen of it where photos are given."""
    if not inputs:
        return _last_kept(kept, wish.name), None
    if len(inputs) == 1 and inputs[0].suffix.lower() == ".toml":
        return read_own(inputs[0]), None
    piece, table, reading = read_photos(opened() if opened else open_photos(inputs), wish)
    return piece, (table, reading)


def beside_it(kept: KeptPieces, others: Sequence[OwnPiece], wish: Wish, facts: FittingFacts) -> tuple[list[OwnPiece], Wish, FittingFacts]:
    """What the diary adds to a piece: those sewn to it that were not given, the fitting's round, and her tape where none is told."""
    given = {other.name for other in others}
    tape = facts.tape.model_copy(update=dict(kept.tape_mm) | facts.tape.given_mm())
    found = [*others, *(one for one in kept.others if one.name not in given)]
    return found, replace(wish, of_round=kept.round), facts.model_copy(update={"tape": tape})


def altered(pieces: Sequence[OwnPiece], wish: Wish) -> tuple[tuple[OwnPiece, ...], tuple[Alteration, ...], tuple[str, ...]]:
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
    paths = [out / f"{stem}.{end}" for end in ("toml", "pdf", "svg", "dxf")]
    write_piece(paths[0], piece)
    drawn = on_paper(piece, before, steps, facts, wish.units)
    for path in paths[1:]:
        write_as(path, drawn, wish.paper, wish.units)
    return paths
