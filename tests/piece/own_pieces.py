"""Pieces of her own without photos: those of the sheet scenes, as if they had been read without fault."""

import numpy as np
from scenes.sheets.drafted import Drafted
from shapely import LineString, Point

from fitcheck.piece.own_piece import OwnPiece

NAMES = {"dart_mouth": "mouth_1"}


def as_read(piece: Drafted, name: str = "") -> OwnPiece:
    """The cutting line parted where the seam line has its corners."""
    line = piece.cutting_line
    if _area(line) * _area(piece.seam_line) < 0:
        line = line[::-1]
    ring = np.vstack([line, line[:1]])
    path = LineString(ring)
    lines = list(piece.edges.values())
    sign = 1.0 if _area(line) > 0 else -1.0
    corners = []
    for before, after in zip([lines[-1], *lines[:-1]], lines, strict=True):
        u, v = (way / np.hypot(*way) for way in (before[-1] - before[-2], after[1] - after[0]))
        one, two = (sign * np.array([way[1], -way[0]]) for way in (u, v))
        away = piece.allowance * (one + two) / (1 + one @ two)
        if piece.on_fold and (before is piece.edges["centre"] or after is piece.edges["centre"]):
            away = piece.allowance * np.array([0.0, -1.0 if after is not piece.edges["centre"] else 1.0])
        corners.append(np.array(path.interpolate(path.project(Point(*(after[0] + away)))).coords[0]))
    edges = {}
    for (edge, _), one, two in zip(piece.edges.items(), corners, [*corners[1:], corners[0]], strict=True):
        a, b = path.project(Point(*one)), path.project(Point(*two))
        edges[NAMES.get(edge, edge)] = _between(path, a, b)
    darts = []
    for dart in piece.darts:
        mouth = next((points for edge, points in edges.items() if edge.startswith("mouth")), None)
        darts.append(dart if mouth is None else np.array([mouth[0], dart[1], mouth[-1]]))
    return OwnPiece(name or piece.name, edges, piece.allowance, "centre" if piece.on_fold else "", tuple(darts), piece.notches, piece.grain)


def _area(points: np.ndarray) -> float:
    x, y = points.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _between(path: LineString, a: float, b: float) -> np.ndarray:
    whole = np.array(path.coords)
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(whole, axis=0).T))]
    ends = [np.array(path.interpolate(s).coords[0]) for s in (a, b)]
    if b > a:
        inside = whole[(along > a + 1e-6) & (along < b - 1e-6)]
    else:
        inside = np.vstack([whole[along > a + 1e-6], whole[(along > 1e-6) & (along < b - 1e-6)]])
    return np.vstack([ends[0], inside, ends[1]])
