"""A piece opened or folded across."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.block import Piece, line


def open_across(piece: Piece, at_centre: float, at_side: float) -> Piece:
    """A level cut half way between armhole and waist, opened (or folded) by one amount at the centre and one at the side."""
    level = (piece.edges["side"][0, 1] + piece.edges["side"][1, 1]) / 2
    width = piece.edges["side"][1, 0]

    def moved(points: Floats) -> Floats:
        below = points[:, 1] > level
        return points + np.outer(below * (at_centre + (at_side - at_centre) * points[:, 0] / width), [0.0, 1.0])

    cut = line((0.0, level), (float(piece.edges["side"][:, 0].mean()), level))
    return piece.with_edges((cut,), **{name: moved(piece.edges[name]) for name in ("side", "waist", "centre")})


def below(points: Floats, level: float, by: float) -> Floats:
    """What lies below a level moves down as one; edges that cross it get longer or shorter by as much."""
    moved: Floats = points + np.outer(points[:, 1] > level, [0.0, by])
    return moved
