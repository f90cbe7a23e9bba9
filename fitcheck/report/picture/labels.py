"""Places labels beside their anchors so that none covers another: simple, greedy and repeatable."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_ANGLES = 16
_RINGS = 14
_TURNS = sorted((2 * math.pi * k / _ANGLES for k in range(_ANGLES)), key=lambda a: (round(1 - math.cos(a), 6), a))


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle by its top left corner."""

    x: float
    y: float
    width: float
    height: float

    def meets(self, other: "Rect") -> bool:
        """Whether the two overlap."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )

    def inside(self, other: "Rect") -> bool:
        """Whether this one lies wholly in the other."""
        return (
            self.x >= other.x
            and self.y >= other.y
            and self.x + self.width <= other.x + other.width
            and self.y + self.height <= other.y + other.height
        )

    def grown(self, by: float) -> "Rect":
        """With a margin all round."""
        return Rect(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants to stand near its anchor, `clear` or more away from it."""

    x: float
    y: float
    width: float
    height: float
    clear: float


def place(wishes: Sequence[Wish], frame: Rect, taken: Sequence[Rect]) -> list[Rect | None]:
    """Find room for labels, the first wishes first.

    Each tries places on rings around its anchor, nearest ring first, and on a ring the side away from the frame's middle first (labels
    then stand beside the body rather than on it).

    Parameters
    ----------
    wishes : sequence of Wish
    frame : Rect
        Labels stay inside.
    taken : sequence of Rect
        What must stay uncovered.

    Returns
    -------
    list of Rect or None
        In the order of the wishes; None where no room is left.
    """
    taken = list(taken)
    placed: list[Rect | None] = []
    for wish in wishes:
        spot = next((r for r in _candidates(wish, frame) if r.inside(frame) and not any(r.meets(other) for other in taken)), None)
        placed.append(spot)
        if spot is not None:
            taken.append(spot.grown(0.12 * spot.height))
    return placed


def _candidates(wish: Wish, frame: Rect) -> Iterator[Rect]:
    outward = 0.0 if wish.x >= frame.x + frame.width / 2 else math.pi
    for ring in range(_RINGS):
        for turn in _TURNS:
            dx, dy = math.cos(outward + turn), math.sin(outward + turn)
            # The label touches the ring with the edge that faces the anchor.
            reach = wish.clear + ring * wish.height * 0.7
            x = wish.x + dx * (reach + wish.width / 2) - wish.width / 2
            y = wish.y + dy * (reach + wish.height / 2) - wish.height / 2
            yield Rect(x, y, wish.width, wish.height)
