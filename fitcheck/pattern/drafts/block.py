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
    """What the block is drafted to (mm, degrees); the defaults are ANSUR II women's means or estimates around them.

    Attributes
    ----------
    neck_more : float
        Half the width of the neck beyond a twentieth of the bust.
    back_neck, front_neck : float
        Depth of the neck seam at the centres, below its shoulder end.
    armhole_more, bust_more : float
        Depth of the armhole beyond a sixth of the bust; of the bust points below that.
    front_longer : float
        How much more length the front has than the back between neck end and underarm.
    seam_forward_neck, seam_forward_tip : float
        How far the ends of the shoulder seam lie in front of where front and back are alike: as much more on the back, less on the front.
    side_waist_up, front_waist_down : float
        How far the waist line rises at the side and falls at the centre front.
    side_forward_bust, side_forward_waist, side_forward_hip : float
        How far the side seam lies in front of the middle of the width.
    """

    bust: float = 930.0
    waist: float = 760.0
    hip: float = 1010.0
    back_waist: float = 410.0
    shoulder: float = 130.0
    slope_deg: float = 22.0
    bust_span: float = 190.0
    neck_more: float = 34.0
    back_neck: float = 47.0
    front_neck: float = 104.0
    armhole_more: float = 93.0
    bust_more: float = 30.0
    front_longer: float = 0.0
    seam_forward_neck: float = 6.0
    seam_forward_tip: float = 10.0
    side_waist_up: float = 0.0
    front_waist_down: float = 0.0
    side_forward_bust: float = 0.0
    side_forward_waist: float = 0.0
    side_forward_hip: float = 0.0

    @classmethod
    def of(cls, tape: TapeFacts) -> "Body":
        """To the wearer's own tape measurements where she gave them."""
        names = {"back_waist_length": "back_waist", "shoulder_length": "shoulder"}
        given = {names.get(name, name): value for name, value in tape.given_mm().items()}
        return cls(**{name: value for name, value in given.items() if name in cls.__dataclass_fields__})

    @property
    def armhole_depth(self) -> float:
        """From the neck end of the back shoulder down to the base of the armhole (estimate)."""
        return min(self.bust / 6 + self.armhole_more, self.waist_level - 100)

    @property
    def waist_level(self) -> float:
        """Of the waist, below the neck end of the back shoulder; back waist length begins at the bone, at the centre of the neck seam."""
        return self.back_neck + self.back_waist

    @property
    def bust_level(self) -> float:
        """Of the bust points, below the neck end of the back shoulder (estimate)."""
        return self.armhole_depth + self.bust_more


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
