"""What she says of how a tissue is worn and cut; what she does not say the photos tell."""

from dataclasses import dataclass
from typing import Literal

from fitcheck.core.records import Side

HALF_SIDES: dict[Literal["right", "left"], Side] = {"right": "wearer_right", "left": "wearer_left"}


@dataclass(frozen=True, slots=True)
class WornTold:
    """What she says of how the tissue is worn; None where she says nothing.

    Attributes
    ----------
    side : Side or None
        That a half tissue is on.
    cut_mm : float or None
        How far its edge lies beyond its centre line, where none is drawn.
    """

    tissue: Literal["half", "full"] | None = None
    side: Side | None = None
    cut_mm: float | None = None
