"""The paper against her tape, before anything is sewn: what the pieces measure, less allowances and darts, and the ease that leaves."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon

from fitcheck.advice.ease import EaseTables, Girth
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Floats
from fitcheck.pattern.piece import Piece
from fitcheck.piece.altering import ROLES
from fitcheck.piece.as_pattern import HIP_MM, handed_over
from fitcheck.piece.own_piece import OwnPiece

BELOW_UNDERARM_MM = 20.0  # the bust is measured just below the armhole (common practice)
LENGTH_EASE_MM = (0.0, 15.0)  # that a back length needs beyond the tape (common practice: none to 1.5 cm; from memory)
SLACK_MM = 2.0  # of a tape on paper


@dataclass(frozen=True, slots=True)
class EaseRow:
    """One measurement of the paper beside the tape.

    Attributes
    ----------
    at : bust | waist | hip | back length
    paper_mm : float
        Of the whole garment, sewn.
    tape_mm : float or None
    usual_mm : (float, float) or None
        Ease that is usual there.
    """

    at: str
    paper_mm: float
    tape_mm: float | None
    usual_mm: tuple[float, float] | None

    @property
    def ease_mm(self) -> float | None:
        """What is left over the body."""
        return None if self.tape_mm is None else self.paper_mm - self.tape_mm

    @property
    def says(self) -> str:
        """Too tight, as usual, or looser than usual; empty without a tape measurement."""
        if self.ease_mm is None or self.usual_mm is None:
            return ""
        least, most = self.usual_mm
        if self.ease_mm < -SLACK_MM:
            return "smaller than the body"
        if self.ease_mm < least - SLACK_MM:
            return "less ease than usual"
        return "more ease than usual" if self.ease_mm > most + SLACK_MM else "as usual"


def check_ease(pieces: Sequence[OwnPiece], fitting: FittingFacts, tables: EaseTables) -> tuple[EaseRow, ...]:
    """Compare halves of front and back with the tape table of a fitting.

    Parameters
    ----------
    pieces : sequence of OwnPiece
        Front and back, or front and back of a skirt; a girth needs both.
    """
    halves = {ROLES[piece.name]: handed_over(piece, ROLES[piece.name]).piece for piece in pieces if piece.name in ROLES}
    usual, tape = tables.wanted(fitting), fitting.tape.given_mm()
    rows = []
    if {"front", "back"} <= set(halves):
        for at, width in _widths(halves).items():
            rows.append(EaseRow(at, 2 * width, tape.get(at), usual.get(at)))
    back = halves.get("back")
    if back is not None and "neck" in back.edges and "hem" not in back.edges:
        rows.append(EaseRow("back length", _back_length(back), tape.get("back_waist_length"), LENGTH_EASE_MM))
    return tuple(rows)


def _widths(halves: Mapping[str, Piece]) -> dict[Girth, float]:
    """Half of each girth: a half front and a half back."""
    front, back = halves["front"], halves["back"]
    found: dict[Girth, float] = {}
    if all("armhole" in piece.edges for piece in (front, back)):
        found["bust"] = sum(_across(piece, float(piece.edges["armhole"][-1, 1]) + BELOW_UNDERARM_MM) for piece in (front, back))
    if all("waist" in piece.edges for piece in (front, back)):
        found["waist"] = sum(piece.length("waist") for piece in (front, back))
        tops = [float(piece.edges["waist"][:, 1].max()) for piece in (front, back)]
    else:
        tops = [_narrowest(piece) for piece in (front, back)]
        found["waist"] = sum(_across(piece, top) for piece, top in zip((front, back), tops, strict=True))
    lows = [float(piece.outline[:, 1].max()) for piece in (front, back)]
    if all(low > top + HIP_MM for low, top in zip(lows, tops, strict=True)):
        found["hip"] = sum(_across(piece, top + HIP_MM) for piece, top in zip((front, back), tops, strict=True))
    return found


def _across(piece: Piece, level: float) -> float:
    """Width of the paper at a level, what side darts take out there left out, mm."""
    outline = Polygon(piece.outline).buffer(0)
    if "dart_upper" in piece.edges:  # sewn shut, the paper between the legs is no width
        outline = outline.difference(Polygon(np.vstack([piece.edges["dart_upper"], piece.edges["dart_lower"][1:]])).buffer(0.1))
    inside: Floats = np.array(outline.bounds)
    return float(outline.intersection(LineString([(inside[0] - 10, level), (inside[2] + 10, level)])).length)


def _narrowest(piece: Piece) -> float:
    side = piece.edges[piece.edges_named("side")[-1]]
    return float(side[np.argmin(side[:, 0]), 1])


def _back_length(back: Piece) -> float:
    centre = back.edges["centre"]
    return float(np.hypot(*(centre[-1] - centre[0])))
