"""A body and a garment put down point by point, for cases that can be worked by hand.

Body frame: x to her left, y up, z forward, mm. Every coordinate is known to `SD_MM` and to nothing else, so that a number which hangs on
one coordinate alone has that uncertainty too.
"""

from collections.abc import Mapping

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.core.solution import PointKey, Solution

L, R = "wearer_left", "wearer_right"
SD_MM = 0.5
_HER_LEFT, _UP, _FORWARD = np.eye(3)
_WAYS = {"up": _UP, "down": -_UP, "forward": _FORWARD, "back": -_FORWARD, "to her left": _HER_LEFT, "to her right": -_HER_LEFT}


def way(words: str, side: str | None = None) -> Floats:
    """A direction in words as a unit vector; outwards and inwards need the side they are meant on."""
    if words in ("outwards", "inwards"):
        left, outwards = {L: True, R: False}[side], words == "outwards"
        return _HER_LEFT if left == outwards else -_HER_LEFT
    return _WAYS[words]


def solution(points: Mapping[PointKey, Floats]) -> Solution:
    """What the joint adjustment would hand on for these points."""
    keys = tuple(points)
    size = 3 * len(keys)
    return Solution(
        keys,
        np.array([points[key] for key in keys], float),
        np.eye(size) / SD_MM,
        ("pixel",) * size,
        np.eye(size) / SD_MM**2,
        {},
        {},
        np.zeros(size),
    )


def moved(points: Mapping[PointKey, Floats], moves: str, side: str | None = None) -> dict[PointKey, Floats]:
    """The points, some of them moved.

    Parameters
    ----------
    points : dict of (name, side) to ndarray, shape (3,)
    moves : str
        `<point> <mm> <way>` with commas between; a point is of `side` unless it begins with "her left", "her right" or "middle".
    side : str, optional
    """
    found = {key: np.array(at, float) for key, at in points.items()}
    for one in moves.split(", "):
        words = one.split(" ")
        number = next(i for i, word in enumerate(words) if word.isdigit())
        *whose, name = words[:number]
        of = {"": side, "her left": L, "her right": R, "middle": None}[" ".join(whose)]
        found[name, of] = found[name, of] + int(words[number]) * way(" ".join(words[number + 1 :]), of)
    return found
