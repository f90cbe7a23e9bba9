"""What the schematic blocks are drafted to, and what a block is: pieces and the seams that join them.

The drafts are plain ones of our own (quarter girths with ease, shoulder from slope and length, curves by quadratic Bezier; amounts of ease
are common practice, the rest estimates). They are to scale and enough to show what an alteration does to seams, but no pattern to cut a
garment from. Lengths in millimetres, x to the side, y downwards, centre line at x = 0.
"""

from dataclasses import dataclass

from fitcheck.core.fitting import TapeFacts
from fitcheck.core.records import Floats
from fitcheck.pattern.lines import line
from fitcheck.pattern.piece import Piece, Pieces, Sewn, seam_length

HIP_BELOW_WAIST = 200.0  # common practice: 18 to 22 cm
ABDOMEN_BELOW_WAIST = 110.0  # common practice: a hand below the waist


NOTCHES_MM = {
    "back": (72.0, 84.0),
    "front": (78.0,),
}  # from the underarm, armhole and cap alike: two at the back, one in front (common practice)


@dataclass(frozen=True, slots=True)
class Body:
    """What the block is drafted to (mm, degrees); the defaults are ANSUR II women's means or estimates around them."""

    bust: float = 930.0
    waist: float = 760.0
    hip: float = 1010.0
    back_waist: float = 410.0
    shoulder: float = 130.0
    slope_deg: float = 22.0
    bust_span: float = 190.0

    @classmethod
    def of(cls, tape: TapeFacts) -> "Body":
        """To the wearer's own tape measurements where she gave them."""
        names = {"back_waist_length": "back_waist", "shoulder_length": "shoulder"}
        given = {names.get(name, name): value for name, value in tape.given_mm().items()}
        return cls(**{name: value for name, value in given.items() if name in cls.__dataclass_fields__})

    @property
    def armhole_depth(self) -> float:
        """From the neck end of the shoulder down to the base of the armhole (estimate)."""
        return min(self.bust / 6 + 55, self.back_waist - 100)

    @property
    def bust_level(self) -> float:
        """Of the bust points, below the neck end of the shoulder (estimate)."""
        return self.armhole_depth + 45


@dataclass(frozen=True, slots=True)
class Block:
    """Pieces, and which seams are sewn to each other."""

    pieces: Pieces
    sewn: Sewn

    def wanted(self, after: Pieces, piece: str, edge: str) -> float:
        """How long an edge has to be for its seam to fit again, with the ease that it had before."""
        for one, two in (pair[::way] for pair in self.sewn for way in (1, -1)):
            if (piece, edge) in one:
                others = tuple(part for part in one if part != (piece, edge))
                before = seam_length(self.pieces, one) - seam_length(self.pieces, two)
                return before + seam_length(after, two) - seam_length(after, others)
        raise KeyError(edge)


def strip(name: str, **lengths: float) -> Piece:
    """A straight strip that is sewn to the edges named: a collar, facing or waistband from centre back to centre front."""
    x, high = 0.0, 35.0
    edges: dict[str, Floats] = {}
    for edge, length in lengths.items():
        edges[edge] = line((x, high), (x + length, high))
        x += length
    edges |= {"end": line((x, high), (x, 0)), "top": line((x, 0), (0, 0)), "centre": line((0, 0), (0, high))}
    between = next(iter(lengths.values()))
    return Piece(name, edges, {"notch": line((between, high), (between, high - 10))})
