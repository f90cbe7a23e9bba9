"""Where the words of a drawing go, so that they cover neither each other nor the lines that matter."""

import re

import numpy as np
from shapely import LineString, Polygon, box
from shapely.strtree import STRtree

from fitcheck.core.records import Floats

_LETTER = 0.56  # mean width of a letter, as a share of its height
_FIELD = re.compile(r"\{mm:[^}]*\}")
_LONGEST_LENGTH = "1 3/8 in"
_ANGLES = np.radians([0, 180, 270, 90, 315, 45, 225, 135])
_REACHES = (0.5, 1.1, 1.9, 2.8, 4.0, 5.5)
_FARTHER = 0.4  # what it costs to stand the n-th reach away, by n squared


def written_wide(says: str, text: float, bold: bool = False) -> float:
    """How wide words are, for letters of this height; lengths count as the longest that they may become."""
    return text * _LETTER * (1.1 if bold else 1.0) * len(_FIELD.sub(_LONGEST_LENGTH, says))


class Labels:
    """Places words one after the other.

    Attributes
    ----------
    placed : list of (str, float, float)
        What was placed, and the middle of each.
    """

    def __init__(self, text: float, width: float) -> None:
        self.placed: list[tuple[str, float, float]] = []
        self._text, self._width = text, width
        self._taken: list[Polygon] = []
        self._lines: list[tuple[LineString, float]] = []
        self._tree: STRtree | None = None

    def keep_off_text(self, says: str, x: float, y: float) -> None:
        """Words that begin at x on a base line."""
        self._taken.append(box(x, y - self._text, x + self._text * _LETTER * len(says), y + self._text * 0.3))

    def keep_off_line(self, points: Floats, weight: float) -> None:
        """A line that would rather not be covered."""
        self._lines.append((LineString(points), weight))

    def place(self, says: str, at: Floats, bottom: float) -> Floats | None:
        """Put words near a place; a line that leads to them, shape (2, 2), where they stand apart from it."""
        wide = written_wide(says, self._text) / 2
        high = self._text * 0.55
        best, least = None, np.inf
        for rank, reach in enumerate(_REACHES):
            if least <= _FARTHER * rank**2:  # nothing from here on can be better
                break
            for turn in _ANGLES:
                way = np.array([np.cos(turn), np.sin(turn)])
                middle = at + way * (reach * self._text + np.array([wide, high]))
                cost = self._cost(middle, wide, high, bottom) + _FARTHER * rank**2
                if cost < least:
                    best, least = middle, cost
        middle = at if best is None else best
        self._put(says, middle, wide, high)
        near = np.clip(at, middle - [wide, high], middle + [wide, high])
        return np.array([at, near]) if np.hypot(*(near - at)) > 0.9 * self._text else None

    def beside(self, says: str, line: Floats, bottom: float) -> None:
        """Put words to the right of a line that runs up or down, shape (N, 2), where there is most room, rather low."""
        wide, high = written_wide(says, self._text) / 2, self._text * 0.55
        low, top = line[line[:, 1].argmax()], line[line[:, 1].argmin()]
        share = np.linspace(0.08, 0.92, 15)
        middles = low + np.outer(share, top - low) + [wide + self._text * 0.8, 0.0]
        costs = [self._cost(middle, wide, high, bottom) + 0.2 * up for middle, up in zip(middles, share, strict=True)]
        self._put(says, middles[int(np.argmin(costs))], wide, high)

    def _put(self, says: str, middle: Floats, wide: float, high: float) -> None:
        self._taken.append(_around(middle, wide, high))
        self.placed.append((says, float(middle[0]), float(middle[1])))

    def _cost(self, middle: Floats, wide: float, high: float, bottom: float) -> float:
        if not (wide <= middle[0] <= self._width - wide and high <= middle[1] <= bottom - high):
            return 1e3
        mine = _around(middle, wide, high)
        cost = 100.0 * sum(bool(mine.intersects(other)) for other in self._taken)
        if self._tree is None:
            self._tree = STRtree([line for line, _ in self._lines])
        for i in self._tree.query(mine):
            line, weight = self._lines[i]
            cost += 6 * weight * float(line.intersection(mine).length) / self._text
        return cost


def _around(middle: Floats, wide: float, high: float) -> Polygon:
    return box(middle[0] - wide, middle[1] - high, middle[0] + wide, middle[1] + high)
