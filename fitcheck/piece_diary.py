"""Pattern pieces of one garment in the diary: as they were last kept, and the round that is to be done on them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fitcheck.core.fitting import TapeFacts
from fitcheck.diary.reading import pieces, read_round, tapes
from fitcheck.diary.recording import add_pieces
from fitcheck.diary.store import Diary
from fitcheck.piece.own_piece import OwnPiece
from fitcheck.piece.piece_file import kept_piece, piece_text

SEWN_TO = {
    "front": ("back",),
    "back": ("front",),
    "skirt": ("skirt_back",),
    "skirt_front": ("skirt_back",),
    "skirt_back": ("skirt_front", "skirt"),
}


@dataclass(frozen=True, slots=True)
class PieceDiary:
    """Where the pieces of one garment are kept."""

    folder: Path
    wearer: str
    garment: str

    def keep(self, own: Sequence[OwnPiece], fitting: int | None) -> None:
        """Add states of pieces; `fitting` is the one whose round is in them.

        Raises
        ------
        DiaryError
            They cannot be written; none of them is then in the diary.
        """
        with Diary(self.folder) as diary:
            add_pieces(diary, self.wearer, self.garment, {piece.name: piece_text(piece) for piece in own}, fitting)


@dataclass(frozen=True, slots=True)
class KeptPieces:
    """What the diary holds about one piece of a garment.

    Attributes
    ----------
    piece : OwnPiece or None
        As it was last kept.
    fitting : int or None
        The garment's latest fitting.
    round : tuple of (str, float, bool)
        What that fitting asks for and is not in the piece yet: id, amount in mm, on one side only.
    done : bool
        That fitting's round is in the piece.
    others : tuple of OwnPiece
        Pieces that are sewn to it. Those that have been through the round already stand here as they were before it.
    settled : frozenset of str
        Names of these.
    tape_mm : mapping of str to float
        Her latest tape measurements.
    """

    piece: OwnPiece | None
    fitting: int | None
    round: tuple[tuple[str, float, bool], ...]
    done: bool
    others: tuple[OwnPiece, ...]
    settled: frozenset[str]
    tape_mm: Mapping[str, float]


def kept_pieces(place: PieceDiary, name: str, by_hand: bool) -> KeptPieces:
    """Look up a piece and what is sewn to it.

    Parameters
    ----------
    by_hand : bool
        Alterations are given, so the fitting's round is not asked for.

    Raises
    ------
    DiaryError
        The diary cannot be read.
    """
    with Diary(place.folder) as diary:
        entries = diary.entries(place.wearer, place.garment)
        fitting = entries[-1].number if entries else None
        advised = read_round(diary, fitting) if fitting else ()
        states = pieces(diary, place.wearer, place.garment)
        tape = {name: value for name, value, _ in tapes(diary, place.wearer) if name in TapeFacts.model_fields}
    through = {one for one, number, _ in states if fitting and number == fitting}
    done = name in through
    doing = not done and not by_hand
    latest = {one: data for one, _, data in states}
    before = {one: data for one, number, data in states if number is None or number != fitting}
    sewn = [one for one in SEWN_TO.get(name, ()) if one in (before if doing else latest)]
    return KeptPieces(
        kept_piece(latest[name]) if name in latest else None,
        fitting,
        tuple((one.amount.id, one.amount.amount_mm, one.amount.side != "both") for one in advised) if doing else (),
        done,
        tuple(kept_piece((before if doing else latest)[one]) for one in sewn),
        frozenset(through & set(sewn)) if doing else frozenset(),
        tape,
    )


def garments_with_pieces(folder: Path) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Wearer, garment, and names of the pieces that the diary keeps of it.

    Raises
    ------
    DiaryError
        The diary cannot be read.
    """
    with Diary(folder) as diary:
        wearers, garments = dict(diary.checked("wearer", "id, name")), diary.checked("garment", "id, wearer, name")
        names: dict[int, dict[str, None]] = {}
        for garment, name in diary.checked("piece", "garment, name", "ORDER BY id"):
            names.setdefault(garment, {})[name] = None
    return tuple((wearers[wearer], garment, tuple(names[number])) for number, wearer, garment in garments if number in names)
