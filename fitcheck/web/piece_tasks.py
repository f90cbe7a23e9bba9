"""What the reading process does about pattern pieces: reads them off photos, puts right, alters, draws.

What it is asked with and what it answers are plain records; the table that photos show is held for the next question about them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.core.fitting import FittingFacts
from fitcheck.report.words.units import Units, fill, length
from fitcheck.web.piece_work import Asked, Chance, Picture, Told

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from fitcheck.core.records import Floats
    from fitcheck.piece.own_piece import OwnPiece
    from fitcheck.piece.put_right import PutRight
    from fitcheck.piece.table import Table
    from fitcheck.piece_command import Wish
    from fitcheck.web.desk import Desk

SMALL_PX = 420  # height of a photo in a list
MM_PER_PX, MARGIN_MM = 0.4, 25.0  # of the picture on which a piece is put right, and around the piece
WHOLE_MM_PER_PX = 0.5  # of that on which a size is clicked
PAPER = (250, 246, 238)


@dataclass(frozen=True, slots=True)
class Read:
    """A piece that was read, and its picture as it stands upright."""

    piece: "OwnPiece"
    picture: Picture


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be done: the piece and those sewn to it, alterations, and how it is told."""

    pieces: "tuple[OwnPiece, ...]"
    asked: tuple[Asked, ...]
    facts: FittingFacts
    units: Units


@dataclass(frozen=True, slots=True)
class Drawing:
    """One piece drawn: SVG data, whether it has changed, and the lengths of its edges as sewn before and after."""

    name: str
    svg: bytes
    changed: bool
    edges: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of it.

    Attributes
    ----------
    after : tuple of OwnPiece
        The pieces in the order they were given.
    steps : tuple of tuple of str
        Of each alteration its head, then sentence by sentence how it is done.
    follows : tuple of str
        What has to follow on pieces that were not read, and what was passed over.
    seams : tuple of (str, str, str, bool)
        Name, length of either side, and whether the two fit.
    ease : tuple of (str, str, str, str)
        At, paper, tape, and what is said.
    """

    after: "tuple[OwnPiece, ...]"
    drawings: tuple[Drawing, ...]
    steps: tuple[tuple[str, ...], ...]
    follows: tuple[str, ...]
    seams: tuple[tuple[str, str, str, bool], ...]
    ease: tuple[tuple[str, str, str, str], ...]


def look(desk: "Desk", path: Path) -> bytes:
    """A photo as it is shown in lists.

    Raises
    ------
    PhotoError
        It cannot be used.
    """
    from fitcheck.photo.load import load_photo
    from fitcheck.web.picture import small

    return small(load_photo(path, "front").rgb, SMALL_PX)


def read(desk: "Desk", paths: tuple[Path, ...], told: Told) -> Read | Chance:
    """Read a piece, or ask which of several it is.

    Raises
    ------
    FitcheckError
        As the command's reading.
    """
    import numpy as np

    from fitcheck.piece.dashes import DASH_WORDS
    from fitcheck.piece.reading import SeveralError
    from fitcheck.piece_command import Wish, read_on

    table = _table(paths, told.bar_mm)
    wish = Wish(told.name, told.size, allowance_mm=told.allowance_mm)
    try:
        piece, seen = read_on(table, wish, None if told.at_mm is None else np.array(told.at_mm))
    except SeveralError as error:
        whole = table.picture(WHOLE_MM_PER_PX, *table.box())
        says = (
            "Several size lines are seen. Choose yours below, or click it." if error.sizes else f"{error.problem} Click the one you mean."
        )
        return Chance(says, _picture(whole.rgb, whole.low, whole.mm_per_px), tuple((dash, DASH_WORDS[dash]) for dash in error.sizes))
    return Read(piece, _upright(table, piece, seen.matrix))


def blank(desk: "Desk", piece: "OwnPiece") -> Read:
    """A piece of which there is no photo, on plain paper."""
    import numpy as np

    low, size = _frame(piece)
    return Read(piece, _picture(np.full((size[1], size[0], 3), PAPER, np.uint8), low, MM_PER_PX))


def right(desk: "Desk", piece: "OwnPiece", said: "PutRight") -> "OwnPiece":
    """Something put right.

    Raises
    ------
    UsageError
        The piece would not hold together.
    """
    from fitcheck.piece.put_right import put_right

    return put_right(piece, said)


def outcome(desk: "Desk", wanted: Wanted) -> Outcome:
    """Alter the pieces, compare seams and tape, and draw them.

    Raises
    ------
    UsageError
        An alteration cannot be done on them.
    """
    from fitcheck.advice.ease import ease_tables
    from fitcheck.piece.ease_check import check_ease
    from fitcheck.piece.svg_file import svg_text
    from fitcheck.piece_command import altered
    from fitcheck.piece_sheets import instructions, on_paper

    units = wanted.units
    after, steps, passed_over = altered(wanted.pieces, _wish(wanted))
    drawings = []
    for old, new in zip(wanted.pieces, after, strict=True):
        changed = new.done != old.done
        drawn = on_paper(new, old if changed else None, steps, wanted.facts, units)
        svg = svg_text(drawn.sheet, drawn.title, units).encode()
        drawings.append(Drawing(new.name, svg, changed, _edges(old, new, units)))
    seams = [
        (f"{step.id.replace('_', ' ')}: {seam.name}", length(seam.after, units), length(seam.other_after, units), abs(seam.gap) <= 1.0)
        for step in steps
        for seam in step.seams
        if " dart " not in seam.name
    ]
    told = [tuple(instructions(step, wanted.facts, units)[: None if not step.says else -len(step.says)]) for step in steps]
    follows = [fill(text, units) for step in steps for text in step.says]
    ease = check_ease(after, wanted.facts, ease_tables()) if len(after) > 1 or after[0].name == "back" else ()
    rows = tuple((row.at, length(row.paper_mm, units), "" if row.tape_mm is None else length(row.tape_mm, units), row.says) for row in ease)
    return Outcome(after, tuple(drawings), tuple(told), (*follows, *passed_over), tuple(seams), rows)


def write(desk: "Desk", wanted: Wanted, index: int, paper: str, path: Path) -> None:
    """Write one of the pieces after the alterations, as its file's name ends.

    Raises
    ------
    FitcheckError
        It cannot be altered or written.
    """
    from fitcheck.piece.piece_file import write_piece
    from fitcheck.piece_command import altered
    from fitcheck.piece_sheets import on_paper, write_as

    after, steps, _ = altered(wanted.pieces, _wish(wanted))
    old, new = wanted.pieces[index], after[index]
    if path.suffix == ".toml":
        write_piece(path, new)
        return
    drawn = on_paper(new, old if new.done != old.done else None, steps, wanted.facts, wanted.units)
    write_as(path, drawn, "letter" if paper == "letter" else "sheet" if paper == "sheet" else "a4", wanted.units)


def known_alterations(desk: "Desk", pieces: "Sequence[OwnPiece]") -> tuple[tuple[str, str], ...]:
    """Id and plain name of what can be asked of pieces."""
    from fitcheck.advice.table import knowledge
    from fitcheck.piece.altering import alterations_for

    rows = knowledge().alterations
    return tuple(sorted(((id, rows[id].name) for id in alterations_for(pieces) if id in rows), key=lambda one: one[1]))


@lru_cache(maxsize=1)
def _table(paths: tuple[Path, ...], bar_mm: float) -> "Table":
    from fitcheck.photo.camera.lens_profiles import profile_path, read_lenses
    from fitcheck.piece_command import open_table
    from fitcheck.piece_photos import open_photos

    return open_table(open_photos(paths), bar_mm, tuple(read_lenses(profile_path())))


def _wish(wanted: Wanted) -> "Wish":
    from fitcheck.piece_command import Wish

    return Wish(of_round=wanted.asked, units=wanted.units)


def _edges(old: "OwnPiece", new: "OwnPiece", units: Units) -> tuple[tuple[str, str, str], ...]:
    """Name and sewing length of each edge, before and after."""
    from fitcheck.pattern.lines import path_length
    from fitcheck.piece.own_piece import MOUTH

    before, after = old.seam_lines(), new.seam_lines()
    return tuple(
        (name.replace("_", " "), length(path_length(before[name]), units), length(path_length(line), units))
        for name, line in after.items()
        if name in before and not name.startswith(MOUTH)
    )


def _frame(piece: "OwnPiece") -> "tuple[Floats, tuple[int, int]]":
    """Place of the first pixel, and width and height of the picture around a piece."""
    import numpy as np

    low, high = piece.outline.min(axis=0) - MARGIN_MM, piece.outline.max(axis=0) + MARGIN_MM
    wide, high_px = np.ceil((high - low) / MM_PER_PX).astype(int)
    return low, (int(wide), int(high_px))


def _upright(table: "Table", piece: "OwnPiece", matrix: "Floats") -> Picture:
    """The paper turned as the piece stands."""
    import cv2
    import numpy as np

    low, size = _frame(piece)
    turn, shift = matrix[:, :2], matrix[:, 2]
    corners = (low + np.array([[0, 0], [size[0], 0], size, [0, size[1]]]) * MM_PER_PX - shift) @ turn  # its inverse is its transpose
    flat = table.picture(MM_PER_PX, corners.min(axis=0), corners.max(axis=0))
    to_px = np.column_stack([turn, (turn @ flat.low + shift - low) / MM_PER_PX])
    rgb = cv2.warpAffine(flat.rgb, to_px, size, flags=cv2.INTER_LINEAR, borderValue=PAPER)
    return _picture(np.asarray(rgb, np.uint8), low, MM_PER_PX)


def _picture(rgb: "NDArray[np.uint8]", low: "Floats", mm_per_px: float) -> Picture:
    from fitcheck.web.picture import jpeg_of

    return Picture(jpeg_of(rgb), (rgb.shape[1], rgb.shape[0]), (float(low[0]), float(low[1])), mm_per_px)
