"""A seam line drawn anew beside the old one."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.block import Piece, path_length
from fitcheck.pattern.lines import solve


def hollowed(piece: Piece, length: float) -> Piece:
    """The armhole smoothed a little in or out until it has this length, so that both armholes together keep theirs."""
    armhole = piece.edges["armhole"]
    bow = np.sin(np.pi * np.linspace(0, 1, len(armhole)))

    def smoothed(by: float) -> Floats:
        curved: Floats = armhole - np.outer(bow, [by, 0.0])
        return curved

    return piece.with_edges(armhole=smoothed(solve(lambda by: path_length(smoothed(by)) - length)))


def raise_underarm(piece: Piece, amount: float) -> Piece:
    """The base of the armhole raised on the side seam; the armhole, which has moved whole, is eased to it."""
    armhole, side = piece.edges["armhole"], piece.edges["side"]
    base = side[0] - np.array([0.0, amount])
    eased = armhole + np.outer(np.linspace(0, 1, len(armhole)) ** 2, base - armhole[-1])
    return piece.with_edges(armhole=eased, side=np.array([base, side[1]]))


def joined(piece: Piece, edge: str, moved: Floats) -> Piece:
    """An edge moved, with the ends of its neighbours."""
    names = list(piece.edges)
    at = names.index(edge)
    before, after = names[at - 1], names[(at + 1) % len(names)]
    first, last = piece.edges[before].copy(), piece.edges[after].copy()
    first[-1], last[0] = moved[0], moved[-1]
    return piece.with_edges((moved,), **{before: first, edge: moved, after: last})
