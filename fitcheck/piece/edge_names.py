"""Which edge of a piece is which, told by its shape, and the piece put upright: centre line at the left, y downwards.

A sleeve or half of trousers has no centre line: its grain is put upright, and the stretches are counted from each in turn.
The stretches between corners, from the centre's top onwards, are parted into groups in the order that the kind of piece has; what fits
best is taken. Corners that are none (a rounded one seen as two) so fall into one edge.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fitcheck.core.polyline import arc_length
from fitcheck.core.records import Floats
from fitcheck.piece.own_piece import MOUTH, OwnPiece
from fitcheck.piece.reading import Reading

UPPER, LOWER = ("neck", "shoulder", "armhole", "side", "waist"), ("waist", "side", "hem")
SLEEVE, TROUSERS = ("cap", "underarm_1", "wrist", "underarm_2"), ("waist", "side", "hem", "inseam", "crotch")
LOOPS = {"sleeve": SLEEVE, "trousers": TROUSERS, "trousers_front": TROUSERS, "trousers_back": TROUSERS}
KINDS = {"front": UPPER, "back": UPPER, "skirt": LOWER, "skirt_front": LOWER, "skirt_back": LOWER}
LEAST_CENTRE_MM, BOW_SHARE = 150.0, 0.012  # of a centre line; how straight it is
LEAST_HEM_MM, LONGEST_HEM_MM = 80.0, 600.0  # of a wrist or a trouser hem, which tells what is down where no grain line is seen
MOST_AGAINST = 2.0  # tolerances missed, all edges together: a piece called a sleeve that is none gets numbers
FACE_DOWN = 0.2  # against a piece lying face down where its form alone does not tell
OFF_GRAIN_DEG = 6.0  # between centre line and grain (common practice: parallel)


@dataclass(frozen=True, slots=True)
class _Upright:
    """One way to put the piece upright (turned, perhaps mirrored, shifted); the edges clockwise from the centre's top."""

    turn: Floats
    origin: Floats
    order: tuple[int, ...]
    reverse: bool

    def at(self, points: Floats) -> Floats:
        return np.asarray((points - self.origin) @ self.turn.T)

    @property
    def matrix(self) -> Floats:
        """Turn and shift, shape (2, 3)."""
        return np.column_stack([self.turn, -self.turn @ self.origin])

    def edge(self, edges: Sequence[Floats], i: int) -> Floats:
        points = self.at(edges[i])
        return points[::-1] if self.reverse else points


def named_piece(reading: Reading, name: str, allowance_mm: float, mouths: Sequence[int] = ()) -> OwnPiece:
    """As `placed_piece`, without where it lay."""
    return placed_piece(reading, name, allowance_mm, mouths)[0]


def placed_piece(reading: Reading, name: str, allowance_mm: float, mouths: Sequence[int] = ()) -> tuple[OwnPiece, Floats]:
    """Name the edges and put the piece upright.

    Parameters
    ----------
    name : str
        front, back, skirt, skirt_front or skirt_back: a half, told by shape; sleeve, trousers, trousers_front or trousers_back, told
        by shape too. Any other name gets numbered edges, its grain upright.
    mouths : sequence of int
        Which of the edges are mouths of darts.

    Returns
    -------
    OwnPiece, ndarray of shape (2, 3)
        The piece; how places of the table turn, mirror and shift to those of the piece.
    """
    wanted = KINDS.get(name)
    best: tuple[float, _Upright, tuple[int, ...]] | None = None
    if wanted is not None:
        for way in _uprights(reading, mouths):
            for cuts, cost in _groupings(way, reading, wanted, mouths):
                if best is None or cost < best[0]:
                    best = cost, way, cuts
    loop = LOOPS.get(name)
    if loop is not None:
        found = _round(reading, loop, mouths)
        if found is not None:
            way, names = found
            return _piece(reading, name, allowance_mm, way, way.order, names, mouths), way.matrix
    if best is None or wanted is None:
        way = _by_grain(reading)
        names = {i: f"edge_{k}" for k, i in enumerate((i for i in way.order if i not in mouths), 1)}
        return _piece(reading, name, allowance_mm, way, way.order, names, mouths), way.matrix
    _, way, cuts = best
    names = {way.order[0]: "centre"}
    for group, start, end in zip(wanted, cuts[:-1], cuts[1:], strict=True):
        names |= {i: group for i in way.order[start:end]}
    return _piece(reading, name, allowance_mm, way, (*way.order[1:], way.order[0]), names, mouths), way.matrix


def _piece(
    reading: Reading, name: str, allowance_mm: float, way: _Upright, order: Sequence[int], names: dict[int, str], mouths: Sequence[int]
) -> OwnPiece:
    edges: dict[str, Floats] = {}
    number = 0
    parted = {names[order[k - 1]] for k, i in enumerate(order) if i in mouths}
    for i in order:
        points = way.edge(reading.edges, i)
        if i in mouths:
            number += 1
            edges[f"{MOUTH}_{number}"] = points
            continue
        own = names[i]
        if own in parted:
            own = f"{own}_upper" if f"{own}_upper" not in edges or not _mouth_after(edges, f"{own}_upper") else f"{own}_lower"
        edges[own] = np.vstack([edges[own][:-1], points]) if own in edges else points
    fold = names.get(reading.fold, "") if reading.fold is not None else ""
    darts = tuple(way.at(dart)[::-1] if way.reverse else way.at(dart) for dart in reading.darts)
    grain = None if reading.grain is None else way.at(reading.grain)
    if grain is not None and grain[0, 1] > grain[1, 1]:
        grain = grain[::-1]
    notches = tuple(way.at(notch[None])[0] for notch in reading.notches)
    mirrored = bool(np.linalg.det(way.turn) < 0)
    return OwnPiece(name, edges, allowance_mm, fold, darts, notches, grain, mirrored, (), reading.notes)


def _mouth_after(edges: dict[str, Floats], name: str) -> bool:
    names = list(edges)
    return any(other.startswith(MOUTH) for other in names[names.index(name) + 1 :])


def _uprights(reading: Reading, mouths: Sequence[int]) -> list[_Upright]:
    """Every straight long edge as centre line, either end up."""
    found = []
    count = len(reading.edges)
    for i, edge in enumerate(reading.edges):
        ends = edge[[0, -1]]
        chord = ends[1] - ends[0]
        long = float(np.hypot(*chord))
        across = np.array([-chord[1], chord[0]]) / max(long, 1e-9)
        straight = float(np.abs((edge - ends[0]) @ across).max()) < BOW_SHARE * long + 0.8
        if i in mouths or long < LEAST_CENTRE_MM or not straight:
            continue
        if reading.fold is not None and reading.fold != i:
            continue
        if reading.fold is None and reading.grain is not None and _between_deg(chord, reading.grain[1] - reading.grain[0]) > OFF_GRAIN_DEG:
            continue
        u = chord / long
        for up in (1, -1):  # clockwise, a centre at the left runs upwards; seen mirrored it runs down
            down = -u * up
            right = np.array([down[1], -down[0]]) * up
            turn = np.stack([right, down])
            top = ends[1] if up == 1 else ends[0]
            order = tuple((i + up * k) % count for k in range(count))
            found.append(_Upright(turn, top, order, up == -1))
    return found


def _round(reading: Reading, wanted: Sequence[str], mouths: Sequence[int]) -> tuple[_Upright, dict[int, str]] | None:
    """The best way to go round a piece without a centre line, and its edges' names; None where none fits."""
    best: tuple[float, _Upright, tuple[int, ...]] | None = None
    for way in _any_start(reading):
        for cuts, cost in _groupings(way, reading, wanted, mouths, first=0):
            cost += FACE_DOWN * way.reverse
            if cost < MOST_AGAINST and (best is None or cost < best[0]):
                best = cost, way, cuts
    if best is None:
        return None
    _, way, cuts = best
    names = {i: group for group, start, end in zip(wanted, cuts[:-1], cuts[1:], strict=True) for i in way.order[start:end]}
    return way, names


def _any_start(reading: Reading) -> list[_Upright]:
    """Every way to put a piece upright by its grain, or by a hem where none is seen, counted from every edge."""
    if reading.grain is not None:
        way = reading.grain[1] - reading.grain[0]
        downs = [way / np.hypot(*way), -way / np.hypot(*way)]
    else:
        chords = [edge[-1] - edge[0] for edge in reading.edges]
        downs = [
            np.array([u[1], -u[0]]) / np.hypot(*u) for u in chords if LEAST_HEM_MM < np.hypot(*u) < LONGEST_HEM_MM
        ]  # outwards of a hem
    count, found = len(reading.edges), []
    for down in downs:
        for up in (1, -1):
            turn = np.stack([np.array([down[1], -down[0]]) * up, down])
            origin = (reading.outline @ turn.T).min(axis=0) @ turn
            orders = [tuple((i + up * k) % count for k in range(count)) for i in range(count)]
            found += [_Upright(turn, origin, order, up == -1) for order in orders]
    return found


def _by_grain(reading: Reading) -> _Upright:
    longest = max(reading.edges, key=lambda edge: float(np.hypot(*(edge[-1] - edge[0]))))
    way = longest[-1] - longest[0] if reading.grain is None else reading.grain[1] - reading.grain[0]
    down = way / np.hypot(*way)
    down = down if down[1] > 0 else -down
    turn = np.stack([np.array([down[1], -down[0]]), down])
    return _Upright(turn, (reading.outline @ turn.T).min(axis=0) @ turn, tuple(range(len(reading.edges))), False)


def _groupings(
    way: _Upright, reading: Reading, wanted: Sequence[str], mouths: Sequence[int], first: int = 1
) -> list[tuple[tuple[int, ...], float]]:
    """Ways to part the edges from the `first` on (0 is the centre) into the groups wanted, each with what speaks against it."""
    count = len(way.order)
    if count - first < len(wanted) or count > 16:
        return []
    found = []
    on_dart = {k for k in range(count) if way.order[k] in mouths}
    for inner in combinations(range(first + 1, count), len(wanted) - 1):
        cuts = (first, *inner, count)
        if any(c in on_dart or c - 1 in on_dart for c in inner):
            continue
        cost = 0.0
        for group, start, end in zip(wanted, cuts[:-1], cuts[1:], strict=True):
            points = np.vstack([way.edge(reading.edges, way.order[k]) for k in range(start, end)])
            dart = any(k in on_dart for k in range(start, end))
            cost += _against(group, points, dart, wanted) + 0.3 * (end - start - 1 - 2 * dart)
        found.append((cuts, cost))
    return found


def _against(group: str, points: Floats, dart: bool, wanted: Sequence[str]) -> float:
    """What speaks against a stretch being this edge of an upright half piece, clockwise."""
    chord = points[-1] - points[0]
    long = float(np.hypot(*chord))
    if long < 1.0:
        return 9.0
    inwards = np.array([-chord[1], chord[0]]) / long
    off = (points - points[0]) @ inwards
    bow = float(off[np.argmax(np.abs(off))]) / long  # inwards is above zero
    steep = math.degrees(math.atan2(-chord[1], chord[0]))  # 0 outwards, 90 up, -90 down, 180 inwards
    path = float(arc_length(points)[-1])

    def beyond(value: float, low: float, high: float, unit: float) -> float:
        return max(0.0, low - value, value - high) / unit

    def down(low: float, high: float) -> float:
        return beyond(abs((steep + 90 + 180) % 360 - 180), low, high, 12.0)

    if group == "neck":
        return beyond(steep, 3, 75, 12) + beyond(bow, 0.06, 0.5, 0.05) + beyond(path, 60, 320, 60)
    if group == "shoulder":
        return beyond(steep, -48, -2, 10) + beyond(bow, -0.05, 0.05, 0.03) + beyond(path, 40, 230, 40)
    if group == "armhole":
        return down(0, 50) + beyond(bow, 0.08, 0.5, 0.05) + beyond(path, 120, 420, 60)
    if group == "side":
        return down(0, 28) + (0 if dart else beyond(bow, -0.1, 0.06, 0.04)) + beyond(path, 80, 1200, 60)
    if group == "cap":
        return beyond(abs(steep), 0, 25, 10) + beyond(bow, -0.8, -0.12, 0.05) + beyond(path, 220, 750, 60)
    if group == "underarm_1":
        return down(0, 35) + beyond(bow, -0.08, 0.08, 0.04) + beyond(path, 50, 700, 60)
    if group == "underarm_2":
        return beyond(steep, 55, 125, 12) + beyond(bow, -0.08, 0.08, 0.04) + beyond(path, 50, 700, 60)
    if group == "wrist":
        return beyond(abs(abs(steep) - 180), 0, 20, 10) + beyond(bow, -0.1, 0.1, 0.04) + beyond(path, 90, 600, 60)
    if group == "inseam":
        return beyond(steep, 60, 135, 12) + beyond(bow, -0.06, 0.1, 0.04) + beyond(path, 60, 1000, 60)
    if group == "crotch":
        return beyond(steep, 30, 95, 12) + beyond(bow, 0.08, 0.6, 0.05) + beyond(path, 200, 560, 60)
    if wanted is TROUSERS:
        flat = beyond(abs(steep) if group == "waist" else abs(abs(steep) - 180), 0, 22, 10)
        return flat + beyond(bow, -0.1, 0.1, 0.04) + beyond(path, 90, 480, 60)
    flat = beyond(abs(abs(steep) - 180), 0, 25, 10) if group == "hem" or wanted is UPPER else beyond(abs(steep), 0, 25, 10)
    if group == "waist" and wanted is LOWER:
        return flat + beyond(path, 90, 420, 60) + (0.0 if dart else 0.6)
    return flat + beyond(path, 90, 2000, 60) + (1.5 if dart and group == "hem" else 0.0)


def _between_deg(one: Floats, two: Floats) -> float:
    cross = abs(float(one[0] * two[1] - one[1] * two[0]))
    return math.degrees(math.atan2(cross, abs(float(one @ two))))
