"""Plain names for pen colours, whatever the light."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS

NEIGHBOURS = 0.15  # difference of cosines below which light may have turned one pen colour into the other (pink and red)
AS_TOLD, NOT_AS_TOLD = 1.5, 0.3  # factors on a score (estimate; 97 of 100 lines on scenes are given their right colour)

# log brightness, red/green, yellow/blue of plain pen colours on white (estimate), for naming them in the overlay
_PENS = {
    "black": (-1.6, 0.0, 0.0),
    "red": (-0.8, 1.2, 0.6),
    "orange": (-0.6, 0.5, 1.2),
    "yellow": (-0.3, 0.1, 1.2),
    "green": (-0.8, -0.8, 0.2),
    "teal": (-0.7, -0.9, -0.5),
    "blue": (-0.9, -0.6, -1.2),
    "purple": (-0.7, 0.6, -0.5),
    "pink": (-0.4, 0.8, 0.1),
    "white": (0.6, 0.0, 0.0),
}


def colour_name(change: Floats) -> str:
    """The plain pen colour nearest to a change of log colour."""
    near = _nearness(change)
    return max(near, key=lambda pen: near[pen])


def as_told(change: Floats, told: str) -> float:
    """How much likelier a name becomes by the colour told for it ("dark blue" counts as blue; words for other colours tell nothing)."""
    word = told.split()[-1] if told else ""
    if word not in _PENS:
        return 1.0
    near = _nearness(change)
    if near[word] == max(near.values()):
        return AS_TOLD
    return 1.0 if near[word] > max(near.values()) - NEIGHBOURS else NOT_AS_TOLD


def _nearness(change: Floats) -> dict[str, float]:
    """Cosine between a change of log colour and that of each plain pen; brightness counts half."""
    own = COLOUR_WEIGHTS * change / max(float(np.linalg.norm(COLOUR_WEIGHTS * change)), 1e-9)
    return {pen: float(own @ (COLOUR_WEIGHTS * usual)) / float(np.linalg.norm(COLOUR_WEIGHTS * usual)) for pen, usual in _PENS.items()}
