"""A bust dart as it is sewn, wherever it lies."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import unit
from fitcheck.pattern.piece import Piece

_BACK_MM = 20.0  # common practice: darts end 2 to 2.5 cm before the bust point
_BACK_FROM_SHOULDER_MM = 40.0  # common practice: those from the shoulder 4 to 5 cm
_LONGEST = 1.25  # of a leg
_TOWARDS = ("dart_lower", "dart_inner")  # folded down, or to the centre


def legs(piece: Piece) -> tuple[Floats, Floats] | None:
    """Both legs from the edge to the bust point, shape (2, 2) each, in order around the piece; None without a dart."""
    names = piece.edges_named("dart")
    return (piece.edges[names[0]], piece.edges[names[1]][::-1]) if names else None


def mouth_width(piece: Piece) -> float:
    """At its edge, mm."""
    found = legs(piece)
    return float(np.hypot(*(found[1][0] - found[0][0]))) if found else 0.0


def trued_dart(piece: Piece) -> tuple[Floats, Floats]:
    """The dart as it is sewn, its point drawn back from the bust point, and its mouth, so that the edges meet when it is folded.

    The half of the dart under the fold is the mirror image of the seam beyond that leg, up to the dart's middle line.
    """
    names, around = piece.edges_named("dart"), list(piece.edges)
    first, second = piece.edges[names[0]][0], piece.edges[names[1]][-1]
    apex = piece.edges[names[0]][-1]
    beyond = piece.edges[around[around.index(names[0]) - 1]][::-1], piece.edges[around[around.index(names[1]) + 1]]
    under = 1 if names[1] in _TOWARDS else 0
    corner = (first, second)[under]
    middle, leg, seam = unit((first + second) / 2 - apex), unit(corner - apex), unit(beyond[under][1] - corner)
    mirrored = 2 * (leg @ seam) * leg - seam
    far, _ = np.linalg.solve(np.column_stack([middle, -mirrored]), corner - apex)
    long = float(np.hypot(*(corner - apex)))
    far = far if 0 < far < _LONGEST * long else _LONGEST * long  # a wide dart is trimmed when it has been folded
    point = apex + middle * (_BACK_FROM_SHOULDER_MM if "shoulder_outer" in piece.edges else _BACK_MM)
    return np.array([first, point, second]), np.array([first, apex + middle * far, second])
