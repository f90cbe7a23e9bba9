"""Pattern pieces on the table: photos of them, what was read, what was put right, and what is to be altered.

The records in it are frozen and replaced whole; only this holder changes. Photos as pixels are the reading process's own.
"""

import secrets
import shutil
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.core.errors import PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.piece_photos import MOST_PHOTOS

if TYPE_CHECKING:
    from fitcheck.piece.own_piece import OwnPiece

EMPTY = 5  # somebody may just be choosing a photo
STEPS_KEPT = 60  # of what was put right
Asked = tuple[str, float, bool]  # an alteration: id, amount in mm, on one side only


@dataclass(frozen=True, slots=True)
class Told:
    """What she told of a piece; sizes of nested lines by how they are dashed, "edge" where it is cut out, "" where not told.

    Attributes
    ----------
    at_mm : (float, float) or None
        A place on the table that she clicked: on her piece, or on her size line.
    bar_mm : float
        What the card's 100 mm bar measures on her print.
    """

    name: str = "front"
    allowance_mm: float = 15.0
    bar_mm: float = 100.0
    size: str = ""
    at_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """The paper from straight above, JPEG data, and where it lies: its first pixel's place in mm, and mm to a pixel."""

    jpeg: bytes
    size_px: tuple[int, int]
    low: tuple[float, float]
    mm_per_px: float


@dataclass(frozen=True, slots=True)
class Chance:
    """Several sizes or pieces are seen: why she is asked, the picture to click on, and the sizes with words, outermost first."""

    says: str
    picture: Picture
    sizes: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Round:
    """Alterations of a fitting that can be done on a piece.

    Attributes
    ----------
    number : int
        Of the fitting in the diary; 0 where it is not recorded.
    """

    alterations: tuple[Asked, ...] = ()
    number: int = 0


@dataclass
class PieceWork:
    """One piece on the table.

    Attributes
    ----------
    facts : FittingFacts
        Whose piece of which garment it is, so that its partners and the diary's round are found; and her tape.
    photos : tuple of (str, Path, bytes)
        Name in addresses, file, and it as it is shown in lists.
    steps, at : tuple of OwnPiece, int
        The piece as it was read and after each thing put right, and which of them holds.
    round : Round
        Of the fitting that it was begun from, or of the garment's latest in the diary.
    asked, partners : tuple
        Alterations to be done, and the names of pieces that go with it.
    kept : str
        What of it was put into the diary since it was last changed.
    outcome : tuple or None
        What came of it last, with what it is of.
    """

    id: str
    folder: Path
    facts: FittingFacts = field(default_factory=FittingFacts)
    told: Told = field(default_factory=Told)
    photos: tuple[tuple[str, Path, bytes], ...] = ()
    chance: Chance | None = None
    picture: Picture | None = None
    steps: "tuple[OwnPiece, ...]" = ()
    at: int = 0
    round: Round = field(default_factory=Round)
    asked: tuple[Asked, ...] = ()
    partners: tuple[str, ...] = ()
    kept: str = ""
    outcome: tuple[Any, ...] | None = None

    @property
    def piece(self) -> "OwnPiece | None":
        """As it is now."""
        return self.steps[self.at] if self.steps else None

    def add(self, path: Path, small: bytes) -> str:
        """Take a photo in; its name in addresses.

        Raises
        ------
        PhotoError
            There are as many as are joined.
        """
        if len(self.photos) >= MOST_PHOTOS:
            path.unlink(missing_ok=True)
            raise PhotoError(f"At most {MOST_PHOTOS} photos of one piece are joined.", "Take one away first.")
        self.photos = (*self.photos, (path.stem, path, small))
        return path.stem

    def remove(self, id: str) -> None:
        """Take a photo away for good."""
        for own, path, _ in self.photos:
            if own == id:
                path.unlink(missing_ok=True)
        self.photos = tuple(photo for photo in self.photos if photo[0] != id)

    def was_read(self, piece: "OwnPiece", picture: Picture) -> None:
        """It is read; what was put right before is forgotten."""
        self.steps, self.at, self.picture, self.chance = (piece,), 0, picture, None

    def put(self, piece: "OwnPiece") -> None:
        """Something is put right; steps taken back before are forgotten."""
        self.steps = (*self.steps[: self.at + 1], piece)[-STEPS_KEPT:]
        self.at, self.kept = len(self.steps) - 1, ""

    def step(self, by: int) -> None:
        """Back, or forth again."""
        self.at, self.kept = min(max(self.at + by, 0), len(self.steps) - 1), ""


class Pieces:
    """All pieces on the table of one running program."""

    def __init__(self) -> None:
        self._works: dict[str, PieceWork] = {}

    def begin(self, folder: Path) -> PieceWork:
        """A new one; of earlier ones without a photo or a piece only the latest are kept."""
        for empty in [work for work in self.all() if not work.photos and not work.steps][EMPTY:]:
            self.clear(empty)
        work = PieceWork(secrets.token_urlsafe(9), folder)
        self._works[work.id] = work
        return work

    def get(self, id: str) -> PieceWork | None:
        """One by its name in addresses."""
        return self._works.get(id)

    def all(self) -> list[PieceWork]:
        """The newest first."""
        return list(self._works.values())[::-1]

    def beside(self, work: PieceWork) -> "dict[str, OwnPiece]":
        """Other pieces of the same garment that are read, the latest of each name."""
        found = {}
        for other in self._works.values():
            same = (other.facts.wearer, other.facts.garment) == (work.facts.wearer, work.facts.garment)
            if same and other.piece is not None and other.piece.name != work.told.name:
                found[other.piece.name] = other.piece
        return found

    def clear(self, work: PieceWork) -> None:
        """Away with it and its files."""
        self._works.pop(work.id, None)
        shutil.rmtree(work.folder, ignore_errors=True)
