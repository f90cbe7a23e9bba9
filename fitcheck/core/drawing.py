"""A pattern drawing as handed from the pattern to the report, and the seams of its pieces."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class PatternStroke:
    """One line of a pattern drawing, shape (N, 2), mm on paper, x to the right, y downwards.

    `kind` is before, after, inner, cut, dart, notch, balance (where pieces are matched), centre, grain, tape, arrow, leader, gap_hatch,
    lap_hatch, cutting, seam, fold (lines), or hinge, head, gap (put in), lap (taken out; areas).
    """

    kind: str
    points: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PatternSheet:
    """A pattern drawing at full size (mm).

    Attributes
    ----------
    names : tuple of (str, float, float)
        The pieces' names, and where each begins (left end of its base line).
    labels : tuple of (str, float, float)
        Amounts and the like, with `{cut:<number>}` fields, and the middle of each.
    text : float
        Height of letters for the drawing seen small.
    warning : str
        What stands at the head of every page.
    key : str
        What the lines mean, where it is not what the schematic drawing says of itself.
    """

    strokes: tuple[PatternStroke, ...]
    names: tuple[tuple[str, float, float], ...]
    width: float
    height: float
    labels: tuple[tuple[str, float, float], ...] = ()
    text: float = 17.0
    warning: str = "Schematic: do not cut"
    key: str = ""


@dataclass(frozen=True, slots=True)
class SewnSeam:
    """A seam of two pieces: the length of either side before and after an alteration, as sewn (darts shut, ease left in), mm."""

    name: str
    before: float
    after: float
    other_before: float
    other_after: float

    @property
    def gap(self) -> float:
        """By how much the two sides have grown apart."""
        return (self.after - self.other_after) - (self.before - self.other_before)
