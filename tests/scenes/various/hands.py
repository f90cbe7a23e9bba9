"""Lines as a hand draws them: shaky, dashed, with gaps. Metres along the line."""

import numpy as np

from ..mesh import Floats, unit
from .parts import Hand

WANDER_M, GAP_M, LEAST_POINTS = 0.025, (0.006, 0.035), 2


def shaken(p: Floats, normals: Floats, hand: Hand, random: np.random.Generator) -> Floats:
    """The polyline p (n, 3), moved aside on the surface by a slow wander of `hand.shake` mm (sd)."""
    if not hand.shake:
        return p
    along = _along(p)
    knots = np.arange(along[0] - WANDER_M, along[-1] + 2 * WANDER_M, WANDER_M)
    aside = np.interp(along, knots, random.normal(0, hand.shake / 1000, len(knots)))
    across = unit(np.cross(np.gradient(p, axis=0), normals) + 1e-12)
    return np.asarray(p + across * aside[:, None])


def strokes(p: Floats, hand: Hand, random: np.random.Generator) -> list[slice]:
    """The runs of the polyline p (n, 3) that are drawn."""
    along, drawn = _along(p), np.ones(len(p), bool)
    if hand.dash:
        drawn &= along * 1000 % (hand.dash * 1.6) < hand.dash
    lacking = 0.0
    while lacking < hand.gaps * along[-1]:
        begin, length = random.uniform(0, along[-1]), random.uniform(*GAP_M)
        drawn &= (along < begin) | (along > begin + length)
        lacking += length
    ends = np.flatnonzero(np.diff(np.r_[False, drawn, False].astype(int)))
    return [slice(a, b) for a, b in ends.reshape(-1, 2) if b - a >= LEAST_POINTS]


def _along(p: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))])
