"""A seam turned about one of its ends."""

import math
from collections.abc import Sequence

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import drag, rotated
from fitcheck.pattern.moves.move_line import moved_armhole, moved_neck
from fitcheck.pattern.piece import Mark, Piece, Pieces, arrow


def turned_shoulder(piece: Piece, amount: float) -> Piece:
    """The armhole end of the shoulder seam raised, the seam turned about its neck end; the armhole follows to nothing below."""
    neck, tip = piece.edges["shoulder"]
    new = _raised(tip, neck, amount)
    return piece.with_edges(
        arrow(tip, new, amount), Mark("hinge", neck[None]), shoulder=np.array([neck, new]), armhole=drag(piece.edges["armhole"], new - tip)
    )


def sloped_shoulder(pieces: Pieces, names: Sequence[str], amount: float, bases: dict[str, Floats]) -> dict[str, Piece]:
    """The same with the base of the armhole moved too, so that the armhole keeps its length.

    Parameters
    ----------
    bases : dict of str to ndarray, shape (2,)
        How far the underarm moves on each piece.
    """
    neck, tip = pieces[names[0]].edges["shoulder"]
    new = _raised(tip, neck, amount)

    def by(share: Floats, name: str) -> Floats:
        ease: Floats = share[:, None] ** 2
        moves: Floats = (1 - ease) * (new - tip) + ease * bases[name]
        return moves

    found = moved_armhole(pieces, names, by)
    first, last = names[0], names[-1]
    found[first] = found[first].with_edges(arrow(tip, new, amount), Mark("hinge", neck[None]))
    underarm = pieces[last].edges["armhole"][-1]
    found[last] = found[last].with_edges(arrow(underarm, underarm + bases[last], amount))
    return found


def neck_end_raised(piece: Piece, at_centre: float, at_shoulder: float) -> Piece:
    """The neck end of the shoulder seam raised, the seam turned about its armhole end; the neck seam moves with it."""
    neck, tip = piece.edges["shoulder"]
    new = _raised(neck, tip, at_shoulder)
    centre = piece.edges["centre"][-1]
    up = np.array([0.0, -at_centre])
    moved = moved_neck(piece, up, new - neck)
    return moved.with_edges(arrow(centre, centre + up), arrow(neck, new, at_shoulder), Mark("hinge", tip[None]))


def _raised(point: Floats, about: Floats, amount: float) -> Floats:
    """Turned about another point until it has moved by the amount, upwards for amounts above zero."""
    angle = 2 * math.asin(amount / 2 / float(np.hypot(*(point - about))))
    new: Floats = rotated(point[None], angle if point[0] < about[0] else -angle, about)[0]
    return new
