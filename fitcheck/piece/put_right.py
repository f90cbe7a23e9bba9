"""A piece put right by hand: a corner, the course of an edge, a dart, a notch or the grain line moved; an edge named otherwise."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field
from shapely import LineString, Point

from fitcheck.core.errors import UsageError
from fitcheck.core.piece_facts import MOST_POINTS, Millimetres, Place
from fitcheck.core.records import Floats
from fitcheck.pattern.lines import drag, part, path_length, point_at
from fitcheck.piece.own_piece import MOUTH, OwnPiece
from fitcheck.piece.piece_file import kept_piece, piece_text

WITH_IT_MM = 1.0  # a dart's leg that ends so near a corner of the outline goes with it
LEAST_MM = 5.0  # between a new dart's legs, and from them to the corners of its edge
Name = Annotated[str, Field(max_length=40)]


class PutRight(BaseModel):
    """One thing put right; which fields it needs depends on what it is.

    Attributes
    ----------
    what : str
        corner (`index`, `to`), edge (`name`, `points`), dart (`index`, `part` 0 to 2, `to`), new_dart (`points`: leg, point, leg), no_dart
        (`index`), notch (`index` or -1 for a new one, `to`),
        no_notch (`index`), grain (`part` 0 or 1, `to`), rename (`name`, `new`), fold (`name`, or "" for none) or allowance (`mm`).
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    what: Literal["corner", "edge", "dart", "new_dart", "no_dart", "notch", "no_notch", "grain", "rename", "fold", "allowance"]
    index: Annotated[int, Field(ge=-1, lt=1000)] = 0
    part: Annotated[int, Field(ge=0, le=2)] = 0
    to: Place = (0.0, 0.0)
    name: Name = ""
    new: Name = ""
    points: Annotated[tuple[Place, ...], Field(max_length=MOST_POINTS)] = ()
    mm: Millimetres = 0.0


def put_right(piece: OwnPiece, said: PutRight) -> OwnPiece:
    """The piece with one thing as it should be.

    Raises
    ------
    UsageError
        There is no such thing, or the piece would no longer hold together.
    """
    try:
        return kept_piece(piece_text(_changed(piece, said)))
    except (ValueError, IndexError, KeyError):
        raise UsageError(
            "The piece would not hold together so: its outline would cross itself, or there is no such point or name.",
            "Move it less, or choose another name: small letters, digits and _ only.",
        ) from None


def _changed(piece: OwnPiece, said: PutRight) -> OwnPiece:
    to = np.array(said.to)
    if said.what == "corner":
        return _with_corner(piece, list(piece.edges)[said.index], to)
    if said.what == "edge":
        return _with_edge(piece, said.name, np.array(said.points, float))
    if said.what == "dart":
        return _with_dart(piece, said.index, said.part, to)
    if said.what == "new_dart":
        return _with_new_dart(piece, np.array(said.points, float))
    if said.what == "no_dart":
        return _without_dart(piece, said.index)
    if said.what in ("notch", "no_notch"):
        kept = tuple(notch for k, notch in enumerate(piece.notches) if k != said.index)
        return replace(piece, notches=kept if said.what == "no_notch" else (*kept, _on_outline(piece, to)))
    if said.what == "grain":
        if piece.grain is None:
            raise KeyError("grain")
        return replace(piece, grain=np.array([to if k == said.part else end for k, end in enumerate(piece.grain)]))
    if said.what == "rename":
        return _renamed(piece, said.name, said.new)
    return replace(piece, fold=said.name) if said.what == "fold" else replace(piece, allowance_mm=said.mm)


def _with_corner(piece: OwnPiece, name: str, to: Floats) -> OwnPiece:
    """The corner at which an edge begins moved; both edges follow, and a dart's leg that ends there."""
    names = list(piece.edges)
    before, old = names[names.index(name) - 1], piece.edges[name][0]
    edges = dict(piece.edges)
    edges[name], edges[before] = drag(edges[name], to - old), drag(edges[before], to - old, -1)
    darts = tuple(np.array([to if k != 1 and _near(place, old) else place for k, place in enumerate(dart)]) for dart in piece.darts)
    return _notched(replace(piece, edges=edges, darts=darts), piece)


def _with_edge(piece: OwnPiece, name: str, points: Floats) -> OwnPiece:
    names = list(piece.edges)
    if len(points) < 2:
        raise ValueError(name)
    after = names[(names.index(name) + 1) % len(names)]
    moved = _with_corner(_with_corner(piece, name, points[0]), after, points[-1])
    return _notched(replace(moved, edges={**moved.edges, name: points}), piece)


def _with_dart(piece: OwnPiece, index: int, part: int, to: Floats) -> OwnPiece:
    """A dart's point, or a leg's end with the corner of the outline that it is."""
    old = piece.darts[index][part]
    corner = next((name for name, edge in piece.edges.items() if part != 1 and _near(edge[0], old)), None)
    moved = piece if corner is None else _with_corner(piece, corner, to)
    darts = [dart.copy() for dart in moved.darts]
    darts[index][part] = to
    return replace(moved, darts=tuple(darts))


def _with_new_dart(piece: OwnPiece, points: Floats) -> OwnPiece:
    """A dart whose legs end on one edge, which it parts in two."""
    if points.shape != (3, 2):
        raise ValueError("a dart has three points")
    plain = [name for name in piece.edges if not name.startswith(MOUTH)]
    name = min(plain, key=lambda edge: sum(LineString(piece.edges[edge]).distance(Point(*end)) for end in points[[0, 2]]))
    edge = piece.edges[name]
    at = sorted(LineString(edge).project(Point(*end)) for end in points[[0, 2]])
    if not LEAST_MM < at[0] < at[1] - LEAST_MM < path_length(edge) - 2 * LEAST_MM or name.endswith(("_upper", "_lower")):
        raise ValueError("a dart parts one whole edge")
    mouth = f"{MOUTH}_{1 + sum(own.startswith(MOUTH) for own in piece.edges)}"
    first, last = point_at(edge, at[0]), point_at(edge, at[1])
    new = {
        f"{name}_upper": part(edge, 0.0, at[0]),
        mouth: np.array([first, point_at(edge, sum(at) / 2), last]),
        f"{name}_lower": part(edge, at[1], path_length(edge)),
    }
    edges: dict[str, Floats] = {}
    for own, line in piece.edges.items():
        edges |= new if own == name else {own: line}
    fold = "" if piece.fold == name else piece.fold
    return replace(piece, edges=edges, fold=fold, darts=(*piece.darts, np.array([first, points[1], last])))


def _without_dart(piece: OwnPiece, index: int) -> OwnPiece:
    """The edge before and the edge after a dart are one again, straight over its mouth."""
    dart, names = piece.darts[index], list(piece.edges)
    kept = tuple(other for k, other in enumerate(piece.darts) if k != index)
    mouth = next((name for name in names if name.startswith(MOUTH) and _near(piece.edges[name][0], dart[0])), None)
    if mouth is None:
        return replace(piece, darts=kept)
    before, after = names[names.index(mouth) - 1], names[(names.index(mouth) + 1) % len(names)]
    base = before.removesuffix("_upper")
    edges: dict[str, Floats] = {}
    for name, line in piece.edges.items():
        if name == before:
            edges[base] = np.vstack([line, piece.edges[after]])
        elif name not in (mouth, after):
            edges[name] = line
    return replace(piece, edges=edges, darts=kept)


def _renamed(piece: OwnPiece, name: str, new: str) -> OwnPiece:
    """An edge under another name; where another edge has that, the two change names."""
    if name not in piece.edges:
        raise KeyError(name)
    names: Mapping[str, str] = {name: new, new: name}
    edges = {names.get(own, own): points for own, points in piece.edges.items()}
    return replace(piece, edges=edges, fold=names.get(piece.fold, piece.fold))


def _notched(piece: OwnPiece, before: OwnPiece) -> OwnPiece:
    """Notches at the same share of their edges as before."""
    found = []
    for notch in before.notches:
        name = min(before.edges, key=lambda edge: LineString(before.edges[edge]).distance(Point(*notch)))
        path = LineString(before.edges[name])
        share = path.project(Point(*notch)) / path.length
        found.append(np.array(LineString(piece.edges[name]).interpolate(share, normalized=True).coords[0]))
    return replace(piece, notches=tuple(found))


def _on_outline(piece: OwnPiece, place: Floats) -> Floats:
    ring = LineString(np.vstack([piece.outline, piece.outline[:1]]))
    return np.array(ring.interpolate(ring.project(Point(*place))).coords[0])


def _near(one: Floats, two: Floats) -> bool:
    return float(np.hypot(*(one - two))) < WITH_IT_MM
