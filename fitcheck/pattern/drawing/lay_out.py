"""The pieces of one alteration side by side, old and new of each on top of the other, with what shows how it is made."""

import numpy as np
from shapely import LinearRing, Polygon
from shapely.geometry.base import BaseGeometry

from fitcheck.core.drawing import PatternSheet, PatternStroke
from fitcheck.core.records import Floats
from fitcheck.pattern.alter import Altered
from fitcheck.pattern.drawing.dart import legs, mouth_width, trued_dart
from fitcheck.pattern.drawing.hatch import hatched
from fitcheck.pattern.drawing.label import Labels, written_wide
from fitcheck.pattern.drawing.markings import markings
from fitcheck.pattern.lines import unit
from fitcheck.pattern.piece import Mark, Piece, Pieces

ROW_MM = 640.0  # pieces in one row, so that a drawing can be read on a phone; tall ones make room for more
ROWS_MM = (400.0, ROW_MM, 900.0, 1200.0, 1600.0, 2000.0)  # tried for a page
GAP_MM, MARGIN_MM = 70.0, 55.0
FOLD = "fold"  # where the centre has no seam and no closing, as the key says
TEXT_MM, LETTERS_ACROSS, LETTERS_ON_A_PAGE = 17.0, 25, 48
_BELOW_NAME = 1.8  # letters between the name of a piece and the piece, for arrows from above
HATCH: dict[str, tuple[float, ...]] = {"gap": (-45.0,), "lap": (45.0, -45.0)}
HATCH_APART = 0.42  # letters
HAIR_MM = 1.5  # what truing moves by less is not drawn
_LEAST_AREA_MM2 = 25.0


def lay_out(changed: Altered, room: tuple[float, float] | None = None) -> PatternSheet:
    """The drawing at full size; pieces that do not change are left out.

    Parameters
    ----------
    room : (float, float), optional
        Width and height of a page: the rows are then as long as lets the drawing be largest there; without, short enough for a phone.
    """
    shown = [(changed.block.pieces[name], after) for name, after in changed.after.items() if is_changed(changed.block.pieces[name], after)]
    rows = _rows(shown, ROW_MM) if room is None else _largest_on(room, shown)
    width, text = _scale(rows, LETTERS_ACROSS if room is None else LETTERS_ON_A_PAGE)
    strokes: list[PatternStroke] = []
    labels = Labels(text, width)
    names: list[tuple[str, float, float]] = []
    arrows: list[tuple[Floats, str]] = []
    centres: list[Floats] = []
    y = text * 1.6
    for row in rows:
        x = MARGIN_MM
        for before, after in row:
            by = np.array([x, y + _BELOW_NAME * text]) - _extent(before, after).min(axis=0)
            names.append((after.name, x, y))
            labels.keep_off_text(after.name, x, y)
            parts = _strokes(before, after, changed.after, by, text)
            strokes += parts
            arrows += [(mark.points.mean(axis=0) + by, mark.says) for mark in after.marks if mark.says]
            arrows += [(place + by, says) for place, says in _dart_width(before, after)]
            if "centre" in after.edges and "top" not in after.edges:
                centres.append(after.edges["centre"] + by)
            x += _column((before, after), text) + GAP_MM
        y += max(_size(pair)[1] for pair in row) + (2.4 + _BELOW_NAME) * text
    for stroke in strokes:
        labels.keep_off_line(stroke.points, 1.0 if stroke.kind in ("arrow", "head") else 0.25)
    for centre in centres:
        labels.beside(FOLD, centre, y)
    for place, says in _distinct(arrows, text):
        leader = labels.place(says, place, y)
        if leader is not None:
            strokes.append(PatternStroke("leader", leader))
    order = [
        "gap",
        "lap",
        "gap_hatch",
        "lap_hatch",
        "centre",
        "grain",
        "before",
        "inner",
        "after",
        "leader",
    ]  # what is drawn first lies beneath
    strokes.sort(key=lambda stroke: order.index(stroke.kind) if stroke.kind in order else len(order))
    said = tuple((says.replace("{mm:", "{cut:"), x, y) for says, x, y in labels.placed)  # told as in the steps: 0.75 cm, not 0.8
    return PatternSheet(tuple(strokes), tuple(names), width, y, said, text)


def is_changed(before: Piece, after: Piece) -> bool:
    """Whether a piece is altered by more than a hair, or something is drawn on it."""
    if any(mark.kind != "arrow" for mark in after.marks):
        return True
    corners = [np.array([points[0] for points in piece.edges.values()]) for piece in (before, after)]
    moved = float(np.hypot(*(corners[1] - corners[0]).T).max())
    apart = float(LinearRing(before.outline).hausdorff_distance(LinearRing(after.outline)))
    return max(moved, apart) > HAIR_MM


def _largest_on(room: tuple[float, float], shown: list[tuple[Piece, Piece]]) -> list[list[tuple[Piece, Piece]]]:
    def reduced(rows: list[list[tuple[Piece, Piece]]]) -> float:
        width, text = _scale(rows, LETTERS_ON_A_PAGE)
        height = sum(max(_size(pair)[1] for pair in row) + (2.4 + _BELOW_NAME) * text for row in rows)
        return max(width / room[0], height / room[1])

    return min((_rows(shown, long) for long in ROWS_MM), key=reduced)


def _rows(shown: list[tuple[Piece, Piece]], long: float) -> list[list[tuple[Piece, Piece]]]:
    rows: list[list[tuple[Piece, Piece]]] = [[]]
    room, used = max(long, 0.85 * max(_size(pair)[1] for pair in shown)), 0.0
    for pair in shown:
        wide = _size(pair)[0]
        if rows[-1] and (used + wide > room or "top" in pair[1].edges):  # a strip lies below
            rows.append([])
            used = 0.0
        rows[-1].append(pair)
        used += wide + GAP_MM
    return rows


def _scale(rows: list[list[tuple[Piece, Piece]]], letters: int) -> tuple[float, float]:
    """Width of the drawing and height of its letters; names need room beside each other too, which makes it wider."""
    text = TEXT_MM
    for _ in range(4):
        widths = [sum(_column(pair, text) for pair in row) + GAP_MM * (len(row) - 1) for row in rows]
        width = max(*widths, 330.0) + 2 * MARGIN_MM
        text = max(TEXT_MM, width / letters)
    return width, text


def _column(pair: tuple[Piece, Piece], text: float) -> float:
    """Of the piece, or of its name with a space after it."""
    return max(_size(pair)[0], written_wide(pair[1].name, text, bold=True) - GAP_MM + text)


def _extent(before: Piece, after: Piece) -> Floats:
    marked = [mark.points for mark in after.marks if mark.kind != "arrow"]
    extent: Floats = np.vstack([before.outline, after.outline, *marked])
    return extent


def _size(pair: tuple[Piece, Piece]) -> tuple[float, float]:
    wide, high = np.ptp(_extent(*pair), axis=0)
    return float(wide), float(high)


def _strokes(before: Piece, after: Piece, pieces: Pieces, by: Floats, text: float) -> list[PatternStroke]:
    found = [("after", after.outline), ("before", before.outline)]
    found += [("inner", points if len(points) > 1 else _cross_at(points[0], text)) for points in after.inner.values()]
    found += [(mark.kind, mark.points) for mark in after.marks if mark.kind not in ("arrow", "hinge", "gap", "block")]
    found += [("cut", mark.points) for mark in after.marks if mark.kind == "block"]
    paper = Polygon(after.outline).buffer(0)
    found += [
        part for mark in after.marks if mark.kind == "gap" for part in _areas("gap", Polygon(mark.points).buffer(0).intersection(paper))
    ]
    found += [("hinge", _circle(mark.points[0], text * 0.26)) for mark in after.marks if mark.kind == "hinge"]
    if not any(mark.kind in ("gap", "lap", "block") for mark in after.marks):
        found += _shaded(before, after)
    if mouth_width(after) > HAIR_MM:
        found += [("dart", points) for points in trued_dart(after)]
    for mark in after.marks:
        if mark.kind == "arrow":
            found += _arrow(mark, text)
    found += markings(after, pieces)
    for kind, turns_deg in HATCH.items():
        areas = [points for own, points in found if own == kind]
        found += [(f"{kind}_hatch", line) for points in areas for line in hatched(points, HATCH_APART * text, turns_deg)]
    return [PatternStroke(kind, points + by) for kind, points in found]


def _dart_width(before: Piece, after: Piece) -> list[tuple[Floats, str]]:
    """At its mouth, where an alteration has opened or closed a bust dart."""
    old, new = legs(before), legs(after)
    if old is None or new is None:
        return []
    long = [float(np.hypot(*(one[0] - one[-1]))) for one, _ in (old, new)]
    wide = [mouth_width(piece) for piece in (before, after)]
    opened = abs(wide[1] / long[1] - wide[0] / long[0]) * long[1] > HAIR_MM  # a dart that is only longer has the same angle
    return [((new[0][0] + new[1][0]) / 2, f"dart {{mm:{wide[1]:.1f}}}" if wide[1] > HAIR_MM else "no dart")] if opened else []


def _shaded(before: Piece, after: Piece) -> list[tuple[str, Floats]]:
    """Where paper is put on and where it is cut off."""
    old, new = (Polygon(piece.outline).buffer(0) for piece in (before, after))
    return [*_areas("gap", new.difference(old)), *_areas("lap", old.difference(new))]


def _areas(kind: str, area: BaseGeometry) -> list[tuple[str, Floats]]:
    parts = area.geoms if hasattr(area, "geoms") else [area]
    return [(kind, np.array(one.exterior.coords)) for one in parts if one.geom_type == "Polygon" and one.area > _LEAST_AREA_MM2]


def _arrow(mark: Mark, text: float) -> list[tuple[str, Floats]]:
    """From where to where; a short one is given a longer tail, so that it can be seen."""
    start, end = mark.points
    far = float(np.hypot(*(end - start)))
    if far < 1e-6:
        return []
    way = unit(end - start)
    tail = min(0.0, far - 1.5 * text)
    head = text * 0.62
    side = np.array([-way[1], way[0]]) * head * 0.36
    back = end - way * head
    return [("arrow", np.array([start + way * tail, back])), ("head", np.array([end, back + side, back - side, end]))]


def _circle(middle: Floats, radius: float) -> Floats:
    turn = np.linspace(0, 2 * np.pi, 17)
    found: Floats = middle + radius * np.column_stack([np.cos(turn), np.sin(turn)])
    return found


def _cross_at(middle: Floats, text: float) -> Floats:
    arm = text * 0.3
    found: Floats = middle + arm * np.array([[-1, 0], [1, 0], [0, 0], [0, -1], [0, 1]])
    return found


def _distinct(arrows: list[tuple[Floats, str]], text: float) -> list[tuple[Floats, str]]:
    """One label where two arrows of the same amount lie side by side."""
    kept: list[tuple[Floats, str]] = []
    for place, says in arrows:
        if not any(says == other and np.hypot(*(place - at)) < text * 2 for at, other in kept):
            kept.append((place, says))
    return kept
