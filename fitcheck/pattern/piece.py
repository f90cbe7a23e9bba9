"""One flat piece of a pattern: its seam lines, what is drawn inside it, what was done to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import path_length

Seam = tuple[tuple[str, str], ...]  # (piece, edge) whose lengths add up to one side of a seam
TAPE_INSIDE_MM = {"neck": (-8.0, 8.0), "armhole": (-10.0, 0.0), "side": (-10.0, 0.0)}  # how far inside its edge a tape is drawn
Sewn = tuple[tuple[Seam, Seam], ...]  # the two sides of each seam; one may be longer by ease


@dataclass(frozen=True, slots=True)
class Mark:
    """Something drawn to show how an alteration is made.

    Attributes
    ----------
    kind : cut | block | hinge | arrow | gap | lap | dart | notch | tape
        A block is cut out and moved whole; an arrow has two points, from where to where; a hinge one; gap and lap are areas of paper put in
        and taken out.
    says : str
        With `{mm:<number>}` fields.
    """

    kind: str
    points: Floats
    says: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One flat piece.

    Attributes
    ----------
    edges : dict of str to ndarray, shape (N, 2)
        Seam lines in order around the piece; each begins where the one before it ends.
    inner : dict of str to ndarray
        Lines of the pattern inside the piece: crease, bust point (one point).
    taken : dict of str to float
        What darts, tape or ease take out of an edge when it is sewn, mm.
    marks : tuple of Mark
    """

    name: str
    edges: Mapping[str, Floats]
    inner: Mapping[str, Floats] = field(default_factory=dict)
    taken: Mapping[str, float] = field(default_factory=dict)
    marks: tuple[Mark, ...] = ()

    @property
    def outline(self) -> Floats:
        """Shape (N, 2): all edges one after the other, closed."""
        return np.vstack([*self.edges.values(), next(iter(self.edges.values()))[:1]])

    def length(self, edge: str) -> float:
        """Of one seam line as it is sewn, mm."""
        return path_length(self.edges[edge]) - self.taken.get(edge, 0.0)

    def edges_named(self, start: str) -> list[str]:
        """The edges whose names begin so: a side seam may be in two parts, above and below a dart."""
        return [name for name in self.edges if name.startswith(start)]

    def with_edges(self, *marks: Mark, **edges: Floats) -> "Piece":
        """The same with some seam lines replaced, and what shows the change."""
        return replace(self, edges={name: edges.get(name, old) for name, old in self.edges.items()}, marks=(*self.marks, *marks))

    def taking(self, **taken: float) -> "Piece":
        """The same with more taken out of edges when they are sewn."""
        return replace(self, taken={**self.taken, **{edge: self.taken.get(edge, 0.0) + more for edge, more in taken.items()}})


Pieces = Mapping[str, Piece]


def seam_length(pieces: Pieces, seam: Seam) -> float:
    """Of one side of a seam, mm."""
    return sum(pieces[piece].length(edge) for piece, edge in seam)


def arrow(start: Floats, end: Floats, amount: float | None = None) -> Mark:
    """From where to where something moves; it says how far, or the amount that is given."""
    far = float(np.hypot(*(end - start))) if amount is None else abs(amount)
    return Mark("arrow", np.array([start, end]), f"{{mm:{far:.1f}}}")
