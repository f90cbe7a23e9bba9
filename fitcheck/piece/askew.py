"""Whether the card lay in the plane of the paper: grain line, fold and centre are parallel on paper, and no longer where it did not."""

import numpy as np

from fitcheck.core.errors import PhotoError
from fitcheck.core.records import Floats
from fitcheck.piece.own_piece import OwnPiece

MOST_DEG = 2.0  # between grain line and fold; drawn sheets read to 0.1
DOUBT_DEG = 1.0  # between grain line and a centre with a seam, which a draft may slant a little
ASKEW_DEG = 20.0  # no centre lies so far off the grain, even where the card leans: the piece is cut on the bias


def slant_deg(line: Floats, edge: Floats) -> float:
    """The angle between the chords of two lines, 0 to 90."""
    one, two = line[-1] - line[0], edge[-1] - edge[0]
    cross = abs(float(one[0] * two[1] - one[1] * two[0]))
    return float(np.degrees(np.arctan2(cross, abs(float(one @ two)))))


def told_askew(piece: OwnPiece) -> tuple[str, ...]:
    """A sentence where grain line and centre are not quite parallel.

    Raises
    ------
    PhotoError
        Grain line and fold are not parallel: every length would be wrong.
    """
    if piece.grain is None:
        return ()
    if piece.fold:
        slant = slant_deg(piece.grain, piece.edges[piece.fold])
        if MOST_DEG < slant < ASKEW_DEG:
            raise PhotoError(
                f"Grain line and fold are {slant:.1f} degrees off parallel: the card does not lie in the plane of the paper.",
                "Lay card and paper flat on one table, on nothing else, and photograph both again.",
            )
        return ()
    centre = piece.edges.get("centre")
    slant = 0.0 if centre is None else slant_deg(piece.grain, centre)
    if not DOUBT_DEG < slant < ASKEW_DEG:
        return ()
    return (
        f"Grain line and centre are {slant:.1f} degrees off parallel. Unless it is drafted so, the card did not lie flat on the table.",
    )
