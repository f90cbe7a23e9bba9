"""A sleeve and half of trousers as the operations of `pattern/` know them, and back again.

They part the sleeve cap at the notch of the shoulder seam, its back half at the left, and call the seams of a leg by where they lie.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from shapely import LineString, Point

from fitcheck.core.records import Floats
from fitcheck.pattern.lines import part, path_length, point_at
from fitcheck.pattern.piece import Piece
from fitcheck.piece.as_pattern import Handed, bent_again, cutting_lines, handed_over, taken_back
from fitcheck.piece.own_piece import OwnPiece

SLEEVE = {"underarm_1": "seam_front", "wrist": "hem", "underarm_2": "seam_back"}
LEG = {"side": "outside", "inseam": "inside"}
LEG_BACK = {there: here for here, there in LEG.items()}
TOP_MM = 45.0  # from the highest place of a cap, within which a notch is that of the shoulder seam (estimate)
CREASE_FROM_MM = 120.0  # above the crotch, where a crease line begins
PITCH = "sleeve_pitch"  # nothing but the notches moves


def handed_leg(own: OwnPiece, role: str) -> Handed:
    """Half of trousers, front or back."""
    handed = handed_over(_called(own, LEG), role)
    hem, fork = handed.piece.edges["hem"], handed.piece.edges["crotch"][0]
    middle = float(hem[[0, -1], 0].mean())
    crease = np.array([[middle, float(fork[1]) - CREASE_FROM_MM], [middle, float(hem[0, 1])]])
    return replace(handed, piece=replace(handed.piece, inner={**handed.piece.inner, "crease": crease}))


def leg_taken_back(handed: Handed, after: Piece, done: tuple[str, float]) -> OwnPiece:
    """Half of trousers after an alteration."""
    return _called(taken_back(handed, after, done), LEG_BACK)


def _called(own: OwnPiece, names: Mapping[str, str]) -> OwnPiece:
    return replace(own, edges={names.get(name, name): points for name, points in own.edges.items()}, fold=names.get(own.fold, own.fold))


def handed_sleeve(own: OwnPiece) -> Handed:
    """A sleeve whose back is at the left."""
    seams = own.seam_lines()
    cap = seams["cap"]
    top = _top(own, cap)
    origin = np.array([point_at(cap, top)[0], float(cap[:, 1].min())])
    halves = {"cap_back": part(cap, 0, top), "cap_front": part(cap, top, path_length(cap))}
    rest = {there: seams[here] for here, there in SLEEVE.items()}
    edges = {name: points - origin for name, points in halves.items()} | {name: (points - origin)[[0, -1]] for name, points in rest.items()}
    for one, two in zip(edges, [*list(edges)[1:], "cap_back"], strict=True):
        edges[one][-1] = edges[two][0]
    inner = {} if own.grain is None else {"grain": own.grain - origin}
    return Handed(own, Piece("sleeve", edges, inner), origin, {name: points - origin for name, points in rest.items()})


def sleeve_taken_back(handed: Handed, after: Piece, done: tuple[str, float]) -> OwnPiece:
    """A sleeve after an alteration; the notches of its cap stay where they are sewn."""
    own = handed.own
    seams = {
        name: bent_again(points, handed.bends.get(name), handed.piece.edges[name]) + handed.origin for name, points in after.edges.items()
    }
    lines = {"cap": np.vstack([seams["cap_back"], seams["cap_front"][1:]])} | {here: seams[there] for here, there in SLEEVE.items()}
    cut = cutting_lines(own, lines)
    edges = {name: cut[name] for name in own.edges}
    halves = [[path_length(piece.edges[half]) for half in ("cap_back", "cap_front")] for piece in (handed.piece, after)]
    ahead = done[1] if done[0] == PITCH else 0.0
    notches = tuple(_notch(own, edges, notch, halves, ahead) for notch in own.notches)
    grain = after.inner["grain"] + handed.origin if "grain" in after.inner else own.grain
    return replace(own, edges=edges, notches=notches, grain=grain, done=(*own.done, done))


def _top(own: OwnPiece, cap: Floats) -> float:
    """How far along the cap the shoulder seam meets it: at the notch near its highest place, else there."""
    path = LineString(cap)
    highest = path.project(Point(*cap[int(np.argmin(cap[:, 1]))]))
    near = [path.project(Point(*notch)) for notch in own.notches if LineString(own.edges["cap"]).distance(Point(*notch)) < 1.0]
    return float(min((at for at in near if abs(at - highest) < TOP_MM), key=lambda at: abs(at - highest), default=highest))


def _notch(own: OwnPiece, edges: Mapping[str, Floats], notch: Floats, halves: list[list[float]], ahead: float) -> Floats:
    """A notch at the same share of its half of the cap, or of its other edge; moved ahead along the cap towards the front."""
    name = min(own.edges, key=lambda edge: LineString(own.edges[edge]).distance(Point(*notch)))
    path, new = LineString(own.edges[name]), LineString(edges[name])
    share = path.project(Point(*notch)) / path.length
    if name == "cap":
        (back, front), (new_back, new_front) = halves
        at, top = share * (back + front), back
        along = at / back * new_back if at <= top else new_back + (at - back) / front * new_front
        share = (along + ahead) / (new_back + new_front)
    return np.array(new.interpolate(min(max(share, 0.0), 1.0), normalized=True).coords[0])
