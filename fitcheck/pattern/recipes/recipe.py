"""What one diagram is made of: the block it is drawn on and what is done to its pieces."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from fitcheck.pattern.drafts.block import Block, Body
from fitcheck.pattern.moves.true_seams import Cap
from fitcheck.pattern.piece import Piece, Pieces


@dataclass(frozen=True, slots=True)
class Case:
    """One alteration of one wearer: the pieces before, the amount (signed as in alterations.toml), one side only or both."""

    pieces: Pieces
    amount: float
    body: Body
    one_side: bool

    @property
    def back(self) -> Piece:
        return self.pieces["back"]

    @property
    def fronts(self) -> list[str]:
        """Names of the pieces of the front, from the centre to the side."""
        return [name for name in ("front", "centre front", "side front") if name in self.pieces]

    @property
    def front(self) -> Piece:
        """The piece of the front at the centre."""
        return self.pieces[self.fronts[0]]

    @property
    def beside(self) -> Piece:
        """The piece of the front at the side."""
        return self.pieces[self.fronts[-1]]

    @property
    def darted(self) -> bool:
        return "dart_upper" in self.front.edges

    @property
    def princess(self) -> bool:
        return len(self.fronts) > 1


Change = Callable[[Case], list[Piece]]  # the pieces that are altered by hand; their neighbours are trued


@dataclass(frozen=True, slots=True)
class Recipe:
    """One diagram.

    Attributes
    ----------
    block : callable
        Body and kind of front to the pieces and their seams.
    on_panels : bool
        Made on the panels of a princess front, which other alterations see whole where it is parted at the shoulder.
    note : str
        What the drawing leaves to be said.
    front_notes : dict of str to str
        The same for some kinds of front only.
    """

    block: Callable[[Body, str], Block]
    change: Change
    note: str = ""
    cap: Cap = "underarm"
    front_notes: Mapping[str, str] = field(default_factory=dict)
    on_panels: bool = False
