"""A piece of her own on paper: cutting line, seam line, darts, notches, grain, and what an alteration does, in place."""

from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point, Polygon

from fitcheck.core.drawing import PatternSheet, PatternStroke
from fitcheck.core.records import Floats
from fitcheck.pattern.drawing.hatch import hatched
from fitcheck.pattern.drawing.label import Labels, written_wide
from fitcheck.pattern.lines import unit
from fitcheck.pattern.piece import Mark
from fitcheck.piece.own_piece import MOUTH, OwnPiece

MARGIN_MM, TEXT_MM, HEAD_ROOM_MM = 14.0, 9.0, 34.0
NOTCH_MM, HEAD_MM, HINGE_MM, ARROW_MM = 6.0, 8.0, 3.0, 9.0
HATCH_MM = 5.0
FOLD_IN_MM, BRACKET = 12.0, (0.2, 0.8)  # beside the fold its bracket runs, along this part of the edge (common practice)
HATCH: dict[str, tuple[float, ...]] = {"gap": (-45.0,), "lap": (45.0, -45.0)}
WARNING = "Check the test square before you cut"
KEY = (
    "Thick line: cut here. Broken line: sew here. Grey dashes: before. Red dots: cut the old paper. Ring: hinge, not cut through. "
    "Hatched one way (green): paper taped in. Hatched both ways (red): paper lapped or cut off. Arrow with two heads: grain. "
    "Bracket: place this edge on the fold."
)
_ORDER = ("gap", "lap", "gap_hatch", "lap_hatch", "fold", "grain", "before", "seam", "inner", "cutting", "leader")


def drawn_piece(piece: OwnPiece, before: OwnPiece | None = None, marks: Sequence[Mark] = ()) -> PatternSheet:
    """The piece at full size.

    Parameters
    ----------
    before : OwnPiece, optional
        As it was, drawn in dashes.
    marks : sequence of Mark
        What shows how it is altered, in the pieces' frame.
    """
    found: list[tuple[str, Floats]] = [("cutting", _closed(piece.outline))]
    if piece.allowance_mm:
        found += [("seam", line) for name, line in piece.seam_lines().items() if not name.startswith(MOUTH) and name != piece.fold]
    found += [] if before is None else [("before", _closed(before.outline))]
    found += [("dart", dart) for dart in piece.darts]
    found += [("balance", _tick(piece.outline, notch)) for notch in piece.notches]
    found += _grain(piece.grain)
    if piece.fold:
        found.append(("fold", _bracket(piece)))
    found += _marked(marks, piece, before)
    every = np.vstack([points for _, points in found])
    low, high = every.min(axis=0) - MARGIN_MM, every.max(axis=0) + MARGIN_MM
    shift = -low + [0.0, HEAD_ROOM_MM]
    width, height = (high - low + [0.0, HEAD_ROOM_MM]).tolist()
    strokes = [PatternStroke(kind, points + shift) for kind, points in found]
    labels = Labels(TEXT_MM, width)
    for stroke in strokes:
        labels.keep_off_line(stroke.points, 1.0)
    for mark in marks:
        if mark.says:
            leader = labels.place(mark.says, mark.points.mean(axis=0) + shift, height)
            strokes += [] if leader is None else [PatternStroke("leader", leader)]
    for name, edge in piece.edges.items():
        if not name.startswith(MOUTH):
            middle = np.array(LineString(edge).interpolate(0.5, normalized=True).coords[0])
            labels.place(name.replace("_", " "), middle + _into(piece.outline, middle) * 18.0 + shift, height)
    for dart in piece.darts:
        labels.place(f"dart {{mm:{float(np.hypot(*(dart[0] - dart[2]))):.1f}}}", dart.mean(axis=0) + shift, height)
    strokes.sort(key=lambda stroke: _ORDER.index(stroke.kind) if stroke.kind in _ORDER else len(_ORDER))
    title = piece.name.replace("_", " ") + (", on the fold" if piece.fold else "")
    done = "" if not piece.done else f" (altered {len(piece.done)} {'time' if len(piece.done) == 1 else 'times'})"
    told = f"allowance {{mm:{piece.allowance_mm:g}}} included" if piece.allowance_mm else "no allowance"
    return PatternSheet(
        tuple(strokes),
        ((f"{title}{done}", MARGIN_MM, TEXT_MM * 1.6),),
        width,
        height,
        (*labels.placed, (told, MARGIN_MM + written_wide(told, TEXT_MM) / 2, TEXT_MM * 3.2)),
        TEXT_MM,
        WARNING,
        KEY,
    )


def _marked(marks: Sequence[Mark], piece: OwnPiece, before: OwnPiece | None) -> list[tuple[str, Floats]]:
    found: list[tuple[str, Floats]] = []
    areas = [(mark.kind, mark.points) for mark in marks if mark.kind in HATCH]
    if before is not None and not areas:
        old, new = (Polygon(one.outline).buffer(0) for one in (before, piece))
        for kind, area in (("gap", new.difference(old)), ("lap", old.difference(new))):
            parts = [one for one in getattr(area, "geoms", [area]) if one.geom_type == "Polygon" and one.area > 25.0]
            areas += [(kind, np.array(one.exterior.coords)) for one in parts]
    for kind, points in areas:
        found.append((kind, _closed(points)))
        found += [(f"{kind}_hatch", line) for line in hatched(points, HATCH_MM, HATCH[kind])]
    for mark in marks:
        if mark.kind in ("cut", "dart", "notch", "tape"):
            found.append((mark.kind, mark.points))
        elif mark.kind == "block":
            found.append(("cut", _closed(mark.points)))
        elif mark.kind == "hinge":
            turn = np.linspace(0, 2 * np.pi, 17)
            found.append(("hinge", mark.points[0] + HINGE_MM * np.column_stack([np.cos(turn), np.sin(turn)])))
        elif mark.kind == "arrow":
            found += _arrow(mark.points)
    return found


def _arrow(points: Floats) -> list[tuple[str, Floats]]:
    start, end = points
    far = float(np.hypot(*(end - start)))
    if far < 1e-6:
        return []
    way = (end - start) / far
    side = np.array([-way[1], way[0]]) * 2.2
    back = end - way * min(6.0, ARROW_MM)
    tail = start - way * max(0.0, 1.4 * ARROW_MM - far)
    return [("arrow", np.array([tail, back])), ("head", np.array([end, back + side, back - side, end]))]


def _grain(grain: Floats | None) -> list[tuple[str, Floats]]:
    if grain is None:
        return []
    found = [("grain", grain)]
    for end, other in (grain, grain[::-1]):
        way = unit(other - end) * HEAD_MM
        side = np.array([-way[1], way[0]]) * 0.35
        found.append(("grain", np.array([end + way + side, end, end + way - side])))
    return found


def _tick(outline: Floats, notch: Floats) -> Floats:
    return np.array([notch, notch + _into(outline, notch) * NOTCH_MM])


def _into(outline: Floats, place: Floats) -> Floats:
    """Unit vector from a place on the outline inwards."""
    ring, inside = LineString(_closed(outline)), Polygon(outline).buffer(0)
    at = ring.project(Point(*place))
    one, two = (np.array(ring.interpolate(at + step).coords[0]) for step in (-0.5, 0.5))
    way = two - one
    across = np.array([-way[1], way[0]]) / max(float(np.hypot(*way)), 1e-9)
    return across if inside.contains(Point(*(place + across * 2))) else -across


def _bracket(piece: OwnPiece) -> Floats:
    """From the fold inwards, along it, and back to it."""
    edge = LineString(piece.edges[piece.fold])
    ends = [np.array(edge.interpolate(share, normalized=True).coords[0]) for share in BRACKET]
    inwards = [_into(piece.outline, end) * FOLD_IN_MM for end in ends]
    return np.array([ends[0], ends[0] + inwards[0], ends[1] + inwards[1], ends[1]])


def _closed(points: Floats) -> Floats:
    return np.vstack([points, points[:1]])
