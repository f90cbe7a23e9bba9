"""What every pattern piece carries whatever is altered: grain line, centre line, the notches at which pieces are matched, waist darts."""

import numpy as np
from shapely import LineString, Polygon

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import NOTCHES_MM
from fitcheck.pattern.lines import nearest_along, part, path_length, point_at, unit
from fitcheck.pattern.piece import TAPE_INSIDE_MM, Piece, Pieces

_NOTCH_MM = 11.0
_BESIDE_CENTRE_MM = 7.0
_GRAIN_SHARE = 0.4  # of the room there is
_DART_LONG_MM = {"back": 130.0, "front": 95.0}  # common practice: 12 to 14 and 8 to 10 cm


def markings(piece: Piece, pieces: Pieces) -> list[tuple[str, Floats]]:
    """Lines of these kinds: grain, centre, balance, dart.

    Parameters
    ----------
    pieces : dict of str to Piece
        All of the same state: a notch lies where the edge that it is matched with has its own.
    """
    found = [("centre", _centre(piece)), *(("balance", line) for line in _notches(piece, pieces))]
    return [(kind, points) for kind, points in (*found, *_grain(piece), ("dart", _dart(piece))) if len(points)]


def _centre(piece: Piece) -> Floats:
    """A line just inside the centre line."""
    if "centre" not in piece.edges or "top" in piece.edges:
        return np.empty((0, 2))
    line: Floats = piece.edges["centre"][[0, -1]] + np.array([[_BESIDE_CENTRE_MM, -12.0], [_BESIDE_CENTRE_MM, 12.0]])
    return line


def _grain(piece: Piece) -> list[tuple[str, Floats]]:
    """Upright where there is most room beside the lines of the alteration, with a head at either end; along a strip."""
    paper = Polygon(piece.outline).buffer(0)
    drawn = [LineString(mark.points) for mark in piece.marks if len(mark.points) > 1]
    if "top" in piece.edges:
        return []
    left, _, right, _ = paper.bounds
    best, ends = 0.0, np.empty((0, 2))
    for share in np.linspace(0.2, 0.8, 13):
        x = left + (right - left) * share
        inside = paper.intersection(LineString([(x, -1e4), (x, 1e4)]))
        for one in getattr(inside, "geoms", [inside]):
            if one.geom_type != "LineString":
                continue
            middle = np.array(one.interpolate([(1 - _GRAIN_SHARE) / 2, (1 + _GRAIN_SHARE) / 2], normalized=True).tolist())
            points = np.array([[place.x, place.y] for place in middle])
            line = LineString(points)
            room = (
                line.length - 80.0 * sum(bool(line.distance(other) < _NOTCH_MM) for other in drawn) - 0.2 * abs(share - 0.45) * line.length
            )
            if room > best or not len(ends):
                best, ends = room, points
    return [("grain", ends), *(("grain", _head(ends[i], ends[1 - i])) for i in (0, 1))]


def _head(tip: Floats, tail: Floats) -> Floats:
    way = unit(tip - tail) * 12.0
    side = np.array([-way[1], way[0]]) * 0.3
    return np.array([tip - way + side, tip, tip - way - side])


def _notches(piece: Piece, pieces: Pieces) -> list[Floats]:
    found = []
    moved = sum(mark.kind == "notch" for mark in piece.marks)
    if piece.name == "sleeve" and moved < 2:  # a sleeve that is turned has all of its notches drawn anew
        for cap, name, at in (("cap_back", "back", 0), ("cap_front", "front", -1)):
            edge = piece.edges[cap] if at == 0 else piece.edges[cap][::-1]
            found += [_notch(edge, far, -1 if at == 0 else 1) for far in NOTCHES_MM[name]]
        if not moved:
            found.append(_notch(piece.edges["cap_front"], 0.0, -1))
    if "armhole" in piece.edges:
        below = _beyond(piece, pieces)
        edge = piece.edges["armhole"][::-1]
        own = path_length(edge)
        places = (_on_paper(piece, edge, far - below) for far in NOTCHES_MM["back" if piece.name == "back" else "front"])
        found += [_notch(edge, far, 1) for far in places if 0 < far <= own]
    if "princess_upper" in piece.edges:
        top = piece.edges["princess_upper"]
        found.append(_notch(top[::-1], 0.0, 1) if piece.name == "centre front" else _notch(top, 0.0, -1))
    return found


def _on_paper(piece: Piece, edge: Floats, sewn: float) -> float:
    """Where along an armhole from the underarm a place lies that is so far along when sewn: a tape eases what lies below evenly."""
    tapes = [mark.points - TAPE_INSIDE_MM["armhole"] for mark in piece.marks if mark.kind == "tape"] if "armhole" in piece.taken else []
    for tape in tapes:
        start, end = sorted(nearest_along(edge, place) for place in tape[[0, -1]])
        eased = piece.taken["armhole"]
        sewn += min(max((sewn - start) * eased / (end - start - eased), 0.0), eased)
    return sewn


def _beyond(piece: Piece, pieces: Pieces) -> float:
    """How much of the armhole lies on the panel between this one and the underarm."""
    return path_length(pieces["side front"].edges["armhole"]) if piece.name == "centre front" else 0.0


def _notch(edge: Floats, at: float, side: int) -> Floats:
    """A short line into the paper, square to an edge that runs around the piece (1: against the order of its edges, -1: with it)."""
    start = point_at(edge, at)
    ahead = unit(point_at(edge, at + 2) - start)
    inward = np.array([ahead[1], -ahead[0]]) * side
    line: Floats = np.array([start, start + inward * _NOTCH_MM])
    return line


def _dart(piece: Piece) -> Floats:
    """The dart of a skirt or trousers, in the middle of the waist seam, as wide as the seam takes in."""
    width = piece.taken.get("waist", 0.0)
    if next(iter(piece.edges)) != "waist" or not width or any(mark.kind == "dart" for mark in piece.marks):
        return np.empty((0, 2))
    waist = piece.edges["waist"]
    middle = path_length(waist) / 2
    mouth = part(waist, middle - width / 2, middle + width / 2)
    tip = mouth[[0, -1]].mean(axis=0) + [0.0, _DART_LONG_MM[piece.name]]
    legs: Floats = np.array([mouth[0], tip, mouth[-1]])
    return legs
