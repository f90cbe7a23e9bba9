"""Her piece as the operations of `pattern/` know pieces, and back again.

They work on seam lines, the neck end of the shoulder (or the top of the centre) at height 0 and the centre line at x = 0, with straight
shoulders and darted side seams. A seam that is nearly straight is handed over as straight; how it bends is kept and put back on afterwards.

Long, because each kind of edge that a piece may have is found here beside the others.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from shapely import LineString, Point

from fitcheck.core.polyline import arc_length
from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.lines import part, path_length, point_at, steps_along, unit
from fitcheck.pattern.piece import Mark, Piece
from fitcheck.piece.own_piece import MOUTH, OwnPiece, cut_to_meet

STRAIGHT = ("shoulder", "side_upper", "side_lower", "centre", "inside")  # operations ask for their two ends
LONG_SIDE_MM = 290.0  # a side seam longer than that from the underarm goes below the waist (common practice: 18 to 22 cm to the waist)
HIP_MM = 200.0
SAME_MM = 0.3  # a dart whose corners move by less is as it was


@dataclass(frozen=True, slots=True)
class OwnBody(Body):
    """What levels the operations ask for, read off her pieces."""

    depth: float = 210.0
    bust: float = 930.0
    level: float = 255.0

    @property
    def armhole_depth(self) -> float:
        return self.depth

    @property
    def bust_level(self) -> float:
        return self.level


@dataclass(frozen=True, slots=True)
class Handed:
    """A piece as handed over, and what it takes to take it back.

    Attributes
    ----------
    piece : Piece
    origin : ndarray, shape (2,)
        Of its frame, in that of the own piece.
    bends : dict of str to ndarray
        Edges handed over straight, as they were.
    """

    own: OwnPiece
    piece: Piece
    origin: Floats
    bends: Mapping[str, Floats] = field(default_factory=dict)


def handed_over(own: OwnPiece, role: str) -> Handed:
    """An own piece as the operations know it.

    Parameters
    ----------
    role : front | back
        What the piece is called there.
    """
    seams = own.seam_lines()
    origin = _origin(seams)
    edges: dict[str, Floats] = {}
    taken: dict[str, float] = {}
    marks: list[Mark] = []
    names = list(seams)
    for i, name in enumerate(names):
        points = seams[name] - origin
        base = name.removesuffix("_upper").removesuffix("_lower")
        if name.startswith(MOUTH):
            dart = _dart_of(own, name)
            if dart is None:
                continue
            ends = _legs_on(dart, seams[names[i - 1]][-1], seams[names[(i + 1) % len(names)]][0]) - origin
            if names[i - 1].startswith("side"):
                edges |= {"dart_upper": ends[:2], "dart_lower": ends[1:]}
            else:
                edge = names[i - 1].removesuffix("_upper")
                taken[edge] = taken.get(edge, 0.0) + float(np.hypot(*(ends[2] - ends[0])))
                marks.append(Mark("dart", ends))
            continue
        key = name if base == "side" else base
        edges[key] = np.vstack([edges[key], points]) if key in edges else points
    low = "waist" if "waist" in edges and "hem" not in edges else "hem"
    if "armhole" in edges and path_length(np.vstack([p for n, p in edges.items() if n.startswith("side")])) > LONG_SIDE_MM:
        edges = {("hem" if name == "waist" else name): points for name, points in edges.items()}
        low = "hem"
    edges = _joined(edges)
    bends = {name: edges[name] for name in edges if name in STRAIGHT}
    edges = {name: points[[0, -1]] if name in STRAIGHT else points for name, points in edges.items()}
    inner = {f"dart {k}": dart - origin for k, dart in enumerate(own.darts)}
    if own.grain is not None:
        inner["grain"] = own.grain - origin
    return Handed(own, Piece(role, edges, inner, taken, tuple(marks)), origin, {**bends, low: edges[low]} if low in edges else bends)


def taken_back(handed: Handed, after: Piece, done: tuple[str, float]) -> OwnPiece:
    """The altered piece as an own piece: seams bent as they were, cutting line, darts, notches and grain drawn anew.

    Parameters
    ----------
    done : (str, float)
        The alteration and its amount, to be kept with the piece.
    """
    own = handed.own
    seams = {
        name: bent_again(points, handed.bends.get(name), handed.piece.edges.get(name)) + handed.origin
        for name, points in after.edges.items()
    }
    names = [name for name in own.edges if not name.startswith(MOUTH)]
    darts = list(own.darts)
    lines: dict[str, Floats] = {}
    for name in names:
        base = _base(name)
        if base == "side" and name in seams:
            lines[name] = seams[name]
        elif name == base and _key(base, seams) in seams:
            lines[name] = seams[_key(base, seams)]
    for k, dart in enumerate(own.darts):
        where = _mouth_of(own, dart)
        moved = after.inner.get(f"dart {k}", dart - handed.origin) + handed.origin
        if where is None:
            darts[k] = moved
        elif where[0].startswith("side") and "dart_upper" in seams:
            darts[k] = np.array([seams["dart_upper"][0], seams["dart_upper"][-1], seams["dart_lower"][-1]])
        else:
            key = _key(_base(where[0]), seams)
            old, new = handed.piece.edges[key] + handed.origin, seams[key]
            legs = [_carried(old, new, dart[end]) for end in (0, 2)]
            stayed = float(np.hypot(*(moved[1] - dart[1]))) < SAME_MM
            shift = np.mean([leg - dart[end] for leg, end in zip(legs, (0, 2), strict=True)], axis=0)
            darts[k] = np.array([legs[0], dart[1] + shift if stayed else moved[1], legs[1]])
            path = LineString(new)
            at = sorted(path.project(Point(*leg)) for leg in legs)
            lines[where[0]], lines[where[1]] = part(new, 0, at[0]), part(new, at[1], path_length(new))
    cut = cutting_lines(own, lines)
    edges: dict[str, Floats] = {}
    for name in own.edges:
        edges[name] = cut[name] if name in cut else own.edges[name]
    darts, edges = _with_mouths(own, darts, edges)
    notches = tuple(_notch(own, edges, notch) for notch in own.notches)
    grain = after.inner["grain"] + handed.origin if "grain" in after.inner else own.grain
    return replace(own, edges=edges, darts=tuple(darts), notches=notches, grain=grain, done=(*own.done, done))


def body_of(pieces: Mapping[str, Piece]) -> OwnBody:
    """Levels and widths of the pieces that were handed over."""
    upper = [piece for piece in pieces.values() if "armhole" in piece.edges]
    legs = [float(piece.edges["crotch"][0, 1]) for piece in pieces.values() if "crotch" in piece.edges]
    if legs:
        return OwnBody(hip=4 * (float(np.mean(legs)) - 20))  # as `crotch_level` reckons it
    if not upper and "sleeve" in pieces:
        return OwnBody()
    if not upper:
        widest = max(float(piece.outline[:, 0].max()) for piece in pieces.values())
        return OwnBody(hip=4 * (widest - 15), back_waist=410.0)
    depth = float(np.mean([piece.edges["armhole"][-1, 1] for piece in upper]))
    side = upper[0].edges[upper[0].edges_named("side")[-1]]
    below = "hem" in upper[0].edges
    waist = float(side[np.argmin(side[:, 0]), 1]) if below else float(side[-1, 1])
    shoulder = upper[0].edges["shoulder"]
    chord = shoulder[-1] - shoulder[0]
    front = next((piece for piece in upper if "dart_upper" in piece.edges), None)
    point = None if front is None else front.edges["dart_upper"][-1]
    return OwnBody(
        bust=4 * (float(np.mean([piece.edges["armhole"][-1, 0] for piece in upper])) - 22),
        back_waist=waist,
        shoulder=float(np.hypot(*chord)),
        slope_deg=float(np.degrees(np.arctan2(chord[1], chord[0]))),
        bust_span=190.0 if point is None else 2 * float(point[0]),
        depth=depth,
        level=depth + 45.0 if point is None else float(point[1]),
    )


def _origin(seams: Mapping[str, Floats]) -> Floats:
    if "outside" in seams:  # a leg, from the inner end of its waist
        return np.array(
            [float(next(points for name, points in seams.items() if name.startswith("waist"))[0, 0]), float(seams["outside"][0, 1])]
        )
    left = float(seams["centre"][:, 0].mean()) if "centre" in seams else float(min(points[:, 0].min() for points in seams.values()))
    top = float(seams["shoulder"][0, 1]) if "shoulder" in seams else float(min(points[:, 1].min() for points in seams.values()))
    return np.array([left, top])


def _joined(edges: Mapping[str, Floats]) -> dict[str, Floats]:
    """Each edge begins exactly where the one before ends."""
    names = list(edges)
    found = {name: points.copy() for name, points in edges.items()}
    for one, two in zip(names, [*names[1:], names[0]], strict=True):
        found[one][-1] = found[two][0]
    return found


def _dart_of(own: OwnPiece, mouth: str) -> Floats | None:
    ends = own.edges[mouth][[0, -1]]
    near = [dart for dart in own.darts if np.hypot(*(dart[[0, 2]] - ends).T).max() < 6.0]
    return near[0] if near else None


def _mouth_of(own: OwnPiece, dart: Floats) -> tuple[str, str, str] | None:
    """Edge before, edge after, and mouth of a dart."""
    names = list(own.edges)
    for i, name in enumerate(names):
        found = _dart_of(own, name) if name.startswith(MOUTH) else None
        if found is not None and np.allclose(found, dart):
            return names[i - 1], names[(i + 1) % len(names)], name
    return None


def _legs_on(dart: Floats, before: Floats, after: Floats) -> Floats:
    """The dart with its legs cut back to the seam line: the ends of the seams beside it, brought onto the legs."""
    ends = []
    for leg, near in ((dart[0], before), (dart[2], after)):
        way = unit(dart[1] - leg)
        ends.append(leg + way * max(0.0, float((near - leg) @ way)))
    return np.array([ends[0], dart[1], ends[1]])


def bent_again(points: Floats, old: Floats | None, handed: Floats | None) -> Floats:
    """A seam drawn straight, bent again as it was along its length."""
    if old is None or len(points) > 6 or len(old) <= 2 or handed is None:
        return points
    if len(handed) == len(old) and len(points) == len(old):
        return points
    chord = old[-1] - old[0]
    across = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
    share, off = steps_along(old), (old - old[0]) @ across
    total = path_length(points)
    spots = np.array([point_at(points, s * total) for s in share])
    way = unit(points[-1] - points[0])
    return np.asarray(spots + np.outer(off, [-way[1], way[0]]))


def _base(name: str) -> str:
    return name.removesuffix("_upper").removesuffix("_lower")


def _key(base: str, seams: Mapping[str, Floats]) -> str:
    return "hem" if base == "waist" and "waist" not in seams else base


def _carried(old: Floats, new: Floats, point: Floats) -> Floats:
    """A place beside one line carried to the same share of another."""
    path = LineString(old)
    at = path.project(Point(*point))
    off = point - point_at(old, at)
    return np.asarray(point_at(new, at / path.length * path_length(new)) + off)


def cutting_lines(own: OwnPiece, seams: Mapping[str, Floats]) -> dict[str, Floats]:
    """Seam lines moved out by the allowance and brought to corners; the mouths of darts are left to be drawn."""
    if not own.allowance_mm:
        return dict(seams)
    out = OwnPiece(own.name, dict(seams), -own.allowance_mm, own.fold)
    names = list(seams)
    moved = {name: out.inwards(name) for name in names}  # one frame, one rule: outwards is inwards below zero
    order = list(own.edges)
    for i, name in enumerate(order):
        before = order[i - 1]
        if name in moved and before in moved:
            moved[before], moved[name] = cut_to_meet(moved[before], moved[name])
    return moved


def _with_mouths(own: OwnPiece, darts: list[Floats], edges: dict[str, Floats]) -> tuple[list[Floats], dict[str, Floats]]:
    """Legs drawn on to the cutting line, and mouths that fold flush with it."""
    found = dict(edges)
    for k, old in enumerate(own.darts):
        where = _mouth_of(own, old)
        if where is None:
            continue
        before, after, mouth = where
        ends = [_to_line(found[before][::-1], darts[k][1], darts[k][0]), _to_line(found[after], darts[k][1], darts[k][2])]
        darts[k] = np.array([ends[0], darts[k][1], ends[1]])
        found[before] = np.vstack([_short_of(found[before], ends[0]), ends[0]])
        found[after] = np.vstack([ends[1], _short_of(found[after][::-1], ends[1])[::-1]])
        same = np.hypot(*(darts[k] - old).T).max() < SAME_MM
        found[mouth] = own.edges[mouth] if same else folded_mouth(darts[k], found[after])
        found[mouth] = np.vstack([ends[0], found[mouth][1:-1], ends[1]])
    return darts, found


def folded_mouth(dart: Floats, after: Floats) -> Floats:
    """The mouth of a dart that folds towards the edge after it.

    Its peak lies where that edge, mirrored at the leg, meets the dart's middle.
    """
    leg = unit(dart[2] - dart[1])
    way = unit(after[min(3, len(after) - 1)] - after[0])
    mirrored = 2 * float(way @ leg) * leg - way
    middle = unit((dart[0] - dart[1]) / np.hypot(*(dart[0] - dart[1])) + leg)
    cross = float(mirrored[0] * middle[1] - mirrored[1] * middle[0])
    if abs(cross) < 0.05:
        return np.array([dart[0], (dart[0] + dart[2]) / 2, dart[2]])
    w = dart[1] - dart[2]
    far = float(w[0] * middle[1] - w[1] * middle[0]) / cross
    return np.array([dart[0], dart[2] + mirrored * far, dart[2]])


def _to_line(line: Floats, point: Floats, end: Floats) -> Floats:
    """Where a leg, drawn on, meets a line that begins near it."""
    way = unit(end - point)
    ahead = np.vstack([line[:1] - unit(line[min(3, len(line) - 1)] - line[0]) * 40.0, line])
    crossed = LineString(ahead).intersection(LineString([point, end + way * 60.0]))
    places = [np.array(one.coords[0]) for one in getattr(crossed, "geoms", [crossed]) if not one.is_empty and one.geom_type == "Point"]
    return min(places, key=lambda place: float(np.hypot(*(place - end)))) if places else np.asarray(end)


def _short_of(line: Floats, end: Floats) -> Floats:
    """A line without what reaches beyond a place near its end."""
    at = LineString(line).project(Point(*end))
    kept = line[arc_length(line) < at - 0.05]
    return kept if len(kept) else line[:1]


def _notch(own: OwnPiece, edges: Mapping[str, Floats], notch: Floats) -> Floats:
    """A notch at the same share of its edge."""
    name = min(own.edges, key=lambda edge: LineString(own.edges[edge]).distance(Point(*notch)))
    path = LineString(own.edges[name])
    return np.array(LineString(edges[name]).interpolate(path.project(Point(*notch)) / path.length, normalized=True).coords[0])
