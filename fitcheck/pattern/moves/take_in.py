"""An edge that gapes made shorter: a wedge shut, a princess seam taken in, or the edge eased to a tape."""

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import drag, part, path_length, point_at, smoothed, solve, stretched, turn_between
from fitcheck.pattern.moves.slash_and_spread import Place, swung
from fitcheck.pattern.piece import TAPE_INSIDE_MM, Mark, Piece, arrow


def closed_wedge(piece: Piece, edge: str, at: float, shorter: float, end: Place, about: Floats, ahead: bool = True) -> Piece:
    """A wedge taken out of an edge, its point at `about`; the part from there to `end` turns until the wedge is shut, and opens there.

    Where the edge runs obliquely to the wedge its two sides do not meet in one point, and the edge drawn smooth over the step is less
    shorter than the wedge is wide; so the wedge is as wide as it takes.

    Parameters
    ----------
    at : float
        The middle of the wedge, along the edge.
    shorter : float
        By how much the edge becomes shorter, mm.
    ahead : bool
        The part that turns follows the wedge in the order of the edges; otherwise it lies before it, from `end` to the wedge.
    """
    whole = path_length(piece.edges[edge])

    def shut(width: float) -> Piece:
        near, far = max(at - width / 2, 0.0), min(at + width / 2, whole)
        stays, turns = (near, far) if ahead else (far, near)
        one, two = (point_at(piece.edges[edge], along) for along in (turns, stays))
        angle = turn_between(one - about, two - about)
        wedge = Place(edge, stays, turns)
        marks = (Mark("lap", np.array([about, one, two])), Mark("hinge", about[None]), arrow(one, two, shorter))
        closed = swung(piece, wedge, end, about, angle) if ahead else swung(piece, end, wedge, about, angle)
        return closed.with_edges(*marks, **{edge: smoothed(closed.edges[edge], two)})

    return shut(shorter + solve(lambda more: path_length(shut(shorter + more).edges[edge]) - whole + shorter))


def taken_at_princess(centre: Piece, side: Piece, shorter: float) -> list[Piece]:
    """The armhole end of the princess seam taken in alike on both pieces, to nothing at the bust point, the two as long as each other.

    Parameters
    ----------
    shorter : float
        By how much the armhole becomes shorter, mm.
    """
    ease = side.length("princess_upper") - centre.length("princess_upper")

    def taken(each: float) -> list[Piece]:
        one = _end_taken(centre, -1, point_at(centre.edges["armhole"], centre.length("armhole") - each), shorter / 2)
        two = _end_taken(side, 0, point_at(side.edges["armhole"], each), shorter / 2)
        seam = stretched(two.edges["princess_upper"], one.length("princess_upper") + ease)
        by = seam[-1] - two.edges["armhole"][0]
        return [one, two.with_edges(princess_upper=seam, armhole=drag(two.edges["armhole"], by))]

    whole = centre.length("armhole") + side.length("armhole")
    more = solve(lambda more: sum(piece.length("armhole") for piece in taken(shorter / 2 + more)) - whole + shorter)
    return taken(shorter / 2 + more)


def _end_taken(piece: Piece, end: int, new: Floats, told: float) -> Piece:
    """The end of an armhole at a princess seam moved, both lines drawn anew to nothing."""
    by = new - piece.edges["armhole"][end]
    lines = {"armhole": end, "princess_upper": -1 - end}
    changes = {name: drag(piece.edges[name], by, at) for name, at in lines.items()}
    return piece.with_edges(arrow(new - by, new, told), **changes)


def taped(piece: Piece, edge: str, at: float, width: float, long: float) -> Piece:
    """A stretch of an edge eased to a shorter tape."""
    stretch = part(piece.edges[edge], at - long / 2, at + long / 2)
    tape = Mark("tape", stretch + TAPE_INSIDE_MM[edge], f"tape {{mm:{width:.1f}}} shorter")
    return piece.with_edges(tape).taking(**{edge: width})
