"""Where a front holds its cup: the dart of the side moved to another edge, or the front parted along princess seams over the bust point.

Fronts are drafted and altered with their dart at the side. Then the paper is cut from the new place to the bust point, and what lies
between is turned about it until the old dart is shut: the common way to move a dart. Angles and the length of every seam stay.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.lines import at_x, curve, line, part, path_length, point_at, rotated, stretched, turn_between
from fitcheck.pattern.marks import divided, turned
from fitcheck.pattern.piece import Piece, Pieces

SIDE_DART_AT = 0.35  # of the side seam, from the underarm (estimate: a hand below it)
FRENCH_DART_AT = 0.83  # just above the waist (common practice)
PRINCESS_WAIST_MM = (8.0, 16.0)  # taken at the waist in the seam below the bust, from the centre and from the side front (estimate)
CONTOUR_MM, CONTOUR_BELOW_MM = (
    24.0,
    130.0,
)  # a waist dart without a waist seam has two points; taken out, and how far it runs down (estimate)


@dataclass(frozen=True, slots=True)
class Shape:
    """One kind of front.

    Attributes
    ----------
    cut : callable
        A front with its dart at the side, or without any, to the pieces that are sewn.
    parted : bool
        Into two panels by a princess seam.
    """

    cut: Callable[[Body, Piece], list[Piece]]
    parted: bool = False


def reshaped(pieces: Pieces, front: str, body: Body) -> Pieces:
    """The pieces with the front of this kind in place of the one that is drafted and altered."""
    if front not in SHAPES or "armhole" not in pieces["front"].edges:
        return pieces
    found: dict[str, Piece] = {}
    for name, piece in pieces.items():
        found |= {one.name: one for one in SHAPES[front].cut(body, piece)} if name == "front" else {name: piece}
    return found


def princess_front(front: Piece, edge: str, at: float, foot_x: float) -> list[Piece]:
    """Centre front and side front, parted from a place on an edge, as a length along it, to the bust point and on to the lower edge.

    Parameters
    ----------
    foot_x : float
        Where the seam meets the lower edge, from the centre line.
    """
    moved = _dart_moved(front, edge, at, (edge, "princess_in", "princess_out", f"{edge}_outer"))
    apex = moved.edges["princess_in"][-1]
    low = "hem" if "hem" in front.edges else "waist"
    lower_edge = moved.edges[low]
    low_at = at_x(lower_edge, foot_x)
    foot = point_at(lower_edge, low_at)
    waist = float(moved.inner["waist"][0, 1] if low == "hem" else foot[1])
    hem = [foot] if low == "hem" else []
    inner = np.array([apex, [foot_x - PRINCESS_WAIST_MM[0], waist], *hem])
    outer = stretched(np.array([apex, [foot_x + PRINCESS_WAIST_MM[1], waist], *hem]), path_length(inner))
    names = list(moved.edges)
    before, after = names[: names.index("princess_in")], names[names.index("princess_out") + 1 : names.index(low)]
    centre_edges = {name: moved.edges[name] for name in before}
    centre_edges |= {"princess_upper": moved.edges["princess_in"], "princess_lower": inner}
    centre_edges |= {low: np.vstack([inner[-1:], part(lower_edge, low_at, path_length(lower_edge))[1:]]), "centre": moved.edges["centre"]}
    side_edges = {name.removesuffix("_outer"): moved.edges[name] for name in after}
    beyond = part(lower_edge, 0, low_at)
    side_edges |= {low: np.vstack([beyond[beyond[:, 0] > outer[-1, 0] + 1], outer[-1:]]), "princess_lower": outer[::-1]}
    side_edges |= {"princess_upper": moved.edges["princess_out"]}
    region = np.vstack([*side_edges.values()])
    beside, ahead = divided(moved.marks, region, moved.outline)
    lines = [mark for mark in ahead if mark.kind in ("cut", "gap", "lap")]  # nothing in the gap between the panels
    ahead = (
        *divided(lines, np.vstack([*centre_edges.values()]), moved.outline)[0],
        *(mark for mark in ahead if mark.kind not in ("cut", "gap", "lap")),
    )
    taken = dict(moved.taken)
    return [
        Piece("centre front", centre_edges, {"bust point": apex[None]}, {e: mm for e, mm in taken.items() if e in centre_edges}, ahead),
        Piece("side front", side_edges, {"bust point": apex[None]}, {}, beside),
    ]


def princess_seam(top: Floats, bust: Floats) -> Floats:
    """Above the bust, nearly upright where it leaves it, shape (N, 2), from its top."""
    return curve(top, np.array([bust[0] + (top[0] - bust[0]) * 0.25, (top[1] + bust[1]) / 2]), bust)


def french_dart(body: Body, front: Piece) -> list[Piece]:
    """The dart from low on the side seam, slanting up."""
    lower = front.edges["side_lower"]
    drafted = float(np.hypot(body.waist_level - body.armhole_depth, 0.0)) * (FRENCH_DART_AT - SIDE_DART_AT)
    at = min(drafted, path_length(lower) - 12)
    return [_dart_moved(front, "side_lower", at, ("side_upper", "dart_upper", "dart_lower", "side_lower"))]


def waist_dart(body: Body, front: Piece) -> list[Piece]:
    """The dart from the waist seam; without one, a dart with two points across the waist."""
    if "dart_upper" in front.edges:
        waist = front.edges["waist"]
        at = at_x(waist, float(front.edges["dart_upper"][-1, 0]))
        return [_dart_moved(front, "waist", at, ("waist_outer", "dart_outer", "dart_inner", "waist"))]
    x, waist_y = body.bust_span / 2, float(front.inner["waist"][0, 1])
    top, half = body.bust_level + 25, CONTOUR_MM / 2
    contour = line((x, top), (x - half, waist_y), (x, waist_y + CONTOUR_BELOW_MM), (x + half, waist_y), (x, top))
    return [replace(front, inner={**front.inner, "contour dart": contour})]


def shoulder_dart(body: Body, front: Piece) -> list[Piece]:
    """The dart from the middle of the shoulder seam."""
    at = path_length(front.edges["shoulder"]) / 2
    return [_dart_moved(front, "shoulder", at, ("shoulder", "dart_inner", "dart_outer", "shoulder_outer"))]


def shoulder_princess(body: Body, front: Piece) -> list[Piece]:
    """Parted from the middle of the shoulder seam."""
    return princess_front(front, "shoulder", path_length(front.edges["shoulder"]) / 2, body.bust_span / 2)


SHAPES: dict[str, Shape] = {
    "waist_dart": Shape(waist_dart),
    "french_dart": Shape(french_dart),
    "shoulder_dart": Shape(shoulder_dart),
    "shoulder_princess": Shape(shoulder_princess, parted=True),
}


def _dart_moved(front: Piece, edge: str, at: float, names: tuple[str, str, str, str]) -> Piece:
    """The side dart shut and another opened.

    Parameters
    ----------
    at : float
        Where along the edge the new dart begins.
    names : tuple of str
        What is new, in order around the piece: the edge up to the dart, its two legs, the edge beyond.
    """
    upper, lower = front.edges["dart_upper"], front.edges["dart_lower"]
    apex, cut = upper[-1], point_at(front.edges[edge], at)
    leg = princess_seam(cut, apex) if "princess_in" in names else np.array([cut, apex])
    order = list(front.edges)
    above = order.index(edge) < order.index("dart_upper")
    one, two = part(front.edges[edge], 0, at), part(front.edges[edge], at, path_length(front.edges[edge]))
    angle = turn_between(upper[0] - apex, lower[-1] - apex) * (1 if above else -1)

    def turn(points: Floats) -> Floats:
        return rotated(points, angle, apex)

    if above:
        between = order[order.index(edge) + 1 : order.index("side_upper")]
        turning = [two, *(front.edges[name] for name in between), front.edges["side_upper"]]
        opened = {names[0]: one, names[1]: leg, names[2]: turn(leg)[::-1], names[3]: turn(two)}
        shut = {name: turn(front.edges[name]) for name in between} | {
            "side": _joined(turn(front.edges["side_upper"]), front.edges["side_lower"])
        }
        start, end = order[: order.index(edge)], order[order.index("side_lower") + 1 :]
        changed = {name: front.edges[name] for name in start} | opened | shut
    else:
        between = order[order.index("side_lower") : order.index(edge)]
        turning = [*(front.edges[name] for name in between), one]
        legs = {names[1]: turn(leg), names[2]: leg[::-1], names[3]: two}
        if between:
            opened = {"side": _joined(front.edges["side_upper"], turn(front.edges["side_lower"])), names[0]: turn(one)}
        else:
            opened = {names[0]: _joined(front.edges["side_upper"], turn(one))}
        start, end = order[: order.index("side_upper")], order[order.index(edge) + 1 :]
        changed = {name: front.edges[name] for name in start} | opened | legs
    changed |= {name: front.edges[name] for name in end}
    marks = [mark for mark in front.marks if mark.kind != "block"]  # was cut around the dart of the side
    moving, staying = divided(marks, np.vstack([*turning, apex[None]]), front.outline)
    return replace(front, edges=changed, marks=(*staying, *(turned(mark, angle, apex) for mark in moving)))


def _joined(one: Floats, two: Floats) -> Floats:
    """Two parts of a seam line that meet where a dart was."""
    joined: Floats = np.vstack([one, two[1:]])
    return joined
