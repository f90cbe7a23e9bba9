"""What the user chose for one run: the facts of the fitting and, without a scale card, another scale."""

from dataclasses import dataclass, field

from fitcheck.core.camera import LensProfile
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.core.records import Floats, SeamLine, Sighting, View


@dataclass(frozen=True, slots=True)
class GivenSheet:
    """A flat sheet of known size whose corners the user gave.

    Attributes
    ----------
    size : str
        a4 | letter | id1.
    corners_px : ndarray, shape (4, 2)
        Clockwise from the top left.
    """

    size: str
    corners_px: Floats


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings of one check.

    Attributes
    ----------
    sheets : dict of view to GivenSheet
        Used in views where no card is found.
    lenses : tuple of LensProfile
        The user's calibrated cameras.
    placed_points, placed_seams : tuple of Sighting, of SeamLine
        What the user put right herself.
    last_round : LastRound or None
        Of the same garment, where the diary has one.
    """

    facts: FittingFacts = field(default_factory=FittingFacts)
    sheets: dict[View, GivenSheet] = field(default_factory=dict)
    lenses: tuple[LensProfile, ...] = ()
    placed_points: tuple[Sighting, ...] = ()
    placed_seams: tuple[SeamLine, ...] = ()
    last_round: LastRound | None = None
