"""A seam turned about one of its ends."""

import math

import numpy as np

from fitcheck.pattern.block import Piece
from fitcheck.pattern.lines import drag, rotated


def turn_shoulder(piece: Piece, amount: float, whole: bool = False) -> Piece:
    """The shoulder seam turned about its neck end, its armhole end raised; the armhole follows, to nothing at its base."""
    neck, tip = piece.edges["shoulder"]
    angle = -2 * math.asin(amount / 2 / float(np.hypot(*(tip - neck))))
    new = rotated(tip[None], angle, neck)[0]
    armhole = piece.edges["armhole"] + (new - tip) if whole else drag(piece.edges["armhole"], new - tip)
    return piece.with_edges((np.array([neck, new]),), shoulder=np.array([neck, new]), armhole=armhole)
