"""The plain records that cross between the page's program and the process that reads."""

from dataclasses import dataclass
from pathlib import Path

from fitcheck.body.placed import PlacedFile
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.core.records import View


@dataclass(frozen=True, slots=True)
class CasePhoto:
    """One photo of a fitting.

    Attributes
    ----------
    left_px : float
        Further standard uncertainty, per axis, of where things are in it; of a view out of a film.
    """

    view: View
    path: Path
    left_px: float = 0.0


@dataclass(frozen=True, slots=True)
class Case:
    """Everything that a check goes by; whoever has it can make the same result again.

    Attributes
    ----------
    id : str
        Of the fitting, so that what is held of it can be used.
    last_round : LastRound or None
        Of the same garment, where the diary has one.
    """

    id: str
    photos: tuple[CasePhoto, ...]
    facts: FittingFacts
    placed: PlacedFile
    last_round: LastRound | None = None


@dataclass(frozen=True, slots=True)
class Look:
    """A first look at a photo.

    Attributes
    ----------
    seems : View or None
        None where nothing tells.
    trouble : str
        Why it cannot be used as it is, in a sentence for her; "" where it can.
    small : bytes
        It as it is shown in lists, JPEG data.
    """

    size_px: tuple[int, int]
    seems: View | None
    trouble: str
    small: bytes


@dataclass(frozen=True, slots=True)
class FilmView:
    """A view that was taken out of a film; `says` when, and of how many pictures."""

    photo: CasePhoto
    look: Look
    says: str


@dataclass(frozen=True, slots=True)
class FilmMoment:
    """A small picture of a film, JPEG data, to choose a moment by."""

    time_s: float
    small: bytes


@dataclass(frozen=True, slots=True)
class Film:
    """What was taken out of a film: the views, and pictures of it all, to choose other moments by."""

    views: tuple[FilmView, ...]
    moments: tuple[FilmMoment, ...]
