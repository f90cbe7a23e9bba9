"""Folds read together, as a dressmaker does: a fan towards a point, a stack of horizontals, verticals, a V from the neck, single diagonals.

Everything happens in the picture of one photo, in millimetres at the body, x towards image right and y down, with the named body points
projected into it. A fold belongs to the first reading that claims it, the most telling first: fan, smile, diagonals between named points,
horizontals, verticals.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.core.records import Floats, Side, View
from fitcheck.core.solution import PointKey
from fitcheck.measure.fold_frame import END_MM, BodyPlaces, Frame, Line, line_of

PASSES_MM = 22.0  # how far beside a point a fold may pass that points at it
FROM_POINT_MM = 160.0  # farthest that the nearer end of a fold of a fan may lie from its point
NAMED_MM = 50.0  # how far from a named point a fan may converge
FAN_FOLDS, FAN_SPREAD_DEG = 3, 25.0  # that make a fan, and how far apart its outermost run; less may be chance (estimate)
SMILE = 0.06  # rise of both ends over the middle, as a share of the length
LEVEL_DEG, UPRIGHT_DEG = 65.0, 20.0  # from the plumb line
PARALLEL_DEG = 10.0  # two folds nearer in direction cross nowhere in particular
INSIDE = 0.15  # of its length that a fold may run past the point it points at
# Where single folds must lie and run, about the named points; estimates, wide enough for the bodies of our scenes.
SMILE_LEVEL_DEG, BELOW_WAIST, BELOW_HIP_MM = 55.0, 0.35, 100.0  # a smile: how level, from which share of the way waist to hip, down to
DIAGONAL_DEG = (12.0, 77.0)  # from the plumb line
INWARDS_MM, OUTWARDS_MM, FROM_NECK_MM = 30.0, 20.0, 90.0  # of a diagonal, from its upper to its lower end; how near the neck it begins
BACK_NECK_MM, BACK_NECK_ASIDE_MM = (5.0, 75.0), 90.0  # above and below the back neck point, and aside of the midline
BACK_WAIST_MM = (120.0, 15.0)  # above and below the back waist
AT_BUST_MM, AT_HIP_MM = 60.0, 70.0  # of taut horizontals, from the level
UNDER_BUST_MM, BESIDE_BUST_MM, BELOW_LEVEL_MM, BESIDE_ARMHOLE_MM = 10.0, 50.0, 50.0, 60.0  # of verticals
SIGNIFICANT = 2.0  # total strength: two clear folds, or one long and high one (17 controls in tests/benchmarks/fold_groups.py stay below)
HIGHEST_MM = 2.5  # at least one of its folds must be so high
COMMON_SD = 0.6  # relative doubt of a group's take-up, most of it common to its folds (light); estimate: 13 groups of 177 scenes are few


@dataclass(frozen=True, slots=True)
class _Reading:
    id: str
    at: str
    side: Side | None
    lines: tuple[Line, ...]
    starts_at: str = ""
    ends_at: str = ""


def group_folds(folds: Sequence[Fold], places: Mapping[View, BodyPlaces]) -> tuple[FoldGroup, ...]:
    """Group the folds of all photos.

    Parameters
    ----------
    folds : sequence of Fold
        Of any photos; those of photos without places are passed over.
    places : mapping of View to BodyPlaces

    Returns
    -------
    tuple of FoldGroup
        Strongest first; `says` is left empty. Where two photos show one reading, the stronger is kept.
    """
    groups: dict[str, FoldGroup] = {}
    for view, here in places.items():
        frame = Frame(here)
        lines = [line_of(i, fold, frame.scale) for i, fold in enumerate(folds) if fold.view == view]
        for reading in _readings(lines, frame):
            group = _group(reading, view)
            if group.key not in groups or groups[group.key].strength < group.strength:
                groups[group.key] = group
    return tuple(sorted(groups.values(), key=lambda g: -g.strength))


def _readings(lines: Sequence[Line], frame: Frame) -> list[_Reading]:
    left = list(lines)
    readings = []
    while (fan := _fan(left, frame)) is not None:
        readings.append(fan)
        left = [line for line in left if line not in fan.lines]
    named: dict[tuple[str, str, Side | None], list[Line]] = {}
    for line in left:
        for read in (_smile, _diagonal, _horizontal, _vertical):
            found = read(line, frame)
            if found is not None:
                named.setdefault(found, []).append(line)
                break
    for (id, at, side), members in named.items():
        start, _, end = at.partition("_to_")
        readings.append(_Reading(id, at, side, tuple(members), start if end else "", end))
    return readings


# ---------------------------------------------------------------- fan


def _fan(lines: Sequence[Line], frame: Frame) -> _Reading | None:
    """The best fan: folds that point at one place from different directions.

    Every crossing of two folds votes; its weight is the strength of the folds that point at it. The winner is placed by least squares.
    """
    best: tuple[float, list[Line], Floats] | None = None
    for i, a in enumerate(lines):
        for b in lines[i + 1 :]:
            crossing = _crossing(a, b)
            if crossing is None:
                continue
            members = [line for line in lines if _points_at(line, crossing)]
            weight = sum(line.fold.strength for line in members)
            if len(members) >= FAN_FOLDS and _spread_deg(members, crossing) >= FAN_SPREAD_DEG and (best is None or weight > best[0]):
                best = weight, members, crossing
    if best is None:
        return None
    members, point = best[1], _closest(best[1])
    target = _fan_target(point, frame)
    if target is None:
        rest = [line for line in lines if line not in members]
        return _fan(rest, frame) if len(rest) >= FAN_FOLDS else None
    name, side = target
    return _Reading("fold_fan", name, side, tuple(members), ends_at=name)


FAN_TARGETS = ("bust_point", "shoulder_point", "side_neck_point", "hip_side")


def _fan_target(point: Floats, frame: Frame) -> PointKey | None:
    names = [key for key in frame.points if key[0] in FAN_TARGETS and (frame.view != "back" or key[0] != "bust_point")]
    if frame.view in ("right", "left"):  # the other side's points lie behind the body
        names = [key for key in names if key[1] in (None, f"wearer_{frame.view}")]
    near = sorted((float(np.hypot(*(frame.points[key] - point))), key[0], key[1] or "wearer_right") for key in names)
    if not near or near[0][0] > NAMED_MM:
        return None
    return near[0][1], next(key[1] for key in names if key[0] == near[0][1] and (key[1] or "wearer_right") == near[0][2])


def _crossing(a: Line, b: Line) -> Floats | None:
    """Where the two straight lines cross, None for nearly parallel ones."""
    cross = float(a.way[0] * b.way[1] - a.way[1] * b.way[0])
    if abs(cross) < np.sin(np.radians(PARALLEL_DEG)):
        return None
    gap = b.middle - a.middle
    return np.asarray(a.middle + a.way * (gap[0] * b.way[1] - gap[1] * b.way[0]) / cross)


def _points_at(line: Line, point: Floats) -> bool:
    """It runs at the point, which lies beyond one of its ends or hardly inside."""
    away = point - line.middle
    beside = abs(float(away[0] * line.way[1] - away[1] * line.way[0]))
    ahead = abs(float(away @ line.way)) - line.fold.length_mm / 2
    return beside < PASSES_MM and -INSIDE * line.fold.length_mm < ahead < FROM_POINT_MM


def _spread_deg(members: Sequence[Line], point: Floats) -> float:
    """The widest angle between two of them, seen from the point."""
    angles = [np.arctan2(*(line.middle - point)[::-1]) for line in members]
    gaps = np.abs((np.subtract.outer(angles, angles) + np.pi) % (2 * np.pi) - np.pi)
    return float(np.degrees(gaps.max()))


def _closest(members: Sequence[Line]) -> Floats:
    """The point nearest to all lines, weighted by strength."""
    normal = np.zeros((2, 2))
    right = np.zeros(2)
    for line in members:
        across = np.eye(2) - np.outer(line.way, line.way)
        normal += line.fold.strength * across
        right += line.fold.strength * across @ line.middle
    return np.asarray(np.linalg.solve(normal, right))


# ---------------------------------------------------------------- single folds


def _smile(line: Line, frame: Frame) -> tuple[str, str, Side | None] | None:
    """Both ends higher than the middle, under the abdomen or the seat."""
    if frame.view in ("right", "left") or line.steep < SMILE_LEVEL_DEG:
        return None
    ends = line.points[[0, -1]]
    middle = line.points[len(line.points) // 2]
    if middle[1] - ends[:, 1].max() < SMILE * line.fold.length_mm:
        return None
    waist, hip = frame.level("waist_side"), frame.level("hip_side")
    if not waist + BELOW_WAIST * (hip - waist) < middle[1] < hip + BELOW_HIP_MM:
        return None
    return "fold_smiles", "abdomen" if frame.view == "front" else "seat", None


def _diagonal(line: Line, frame: Frame) -> tuple[str, str, Side | None] | None:
    """From one named place to another."""
    if not DIAGONAL_DEG[0] < line.steep < DIAGONAL_DEG[1]:
        return None
    side = frame.side_of(line)
    if frame.view == "back" and frame.near(line.upper, "shoulder_blade", side) and frame.near(line.lower, "waist_side", side):
        return "fold_diagonal", "blade_to_waist", side
    if frame.view == "front" and _from_neck(line, frame, side):
        to_underarm = np.hypot(*(line.lower - frame.at("underarm_point", side)))
        to_armhole = np.hypot(*(line.lower - frame.armhole(side)))
        if min(to_underarm, to_armhole) < END_MM:
            return ("fold_v", "neck_to_underarm", side) if to_underarm < to_armhole else ("fold_diagonal", "neck_to_armhole", side)
    if frame.view in ("front", "back") and frame.near(line.upper, "shoulder_point", side):
        inwards = abs(line.upper[0] - frame.middle_x(line.upper[1])) - abs(line.lower[0] - frame.middle_x(line.lower[1]))
        if inwards > INWARDS_MM:
            return "fold_diagonal", "shoulder_to_centre", side
    return None


def _from_neck(line: Line, frame: Frame, side: Side) -> bool:
    outwards = abs(line.lower[0] - frame.middle_x(line.lower[1])) - abs(line.upper[0] - frame.middle_x(line.upper[1]))
    return frame.near(line.upper, "side_neck_point", side, FROM_NECK_MM) and bool(outwards > OUTWARDS_MM)


def _horizontal(line: Line, frame: Frame) -> tuple[str, str, Side | None] | None:
    if line.steep < LEVEL_DEG or frame.view in ("right", "left"):
        return None
    y, aside = float(line.middle[1]), abs(float(line.middle[0]) - frame.middle_x(float(line.middle[1])))
    if frame.view == "back":
        neck, waist = frame.level("back_neck_point"), frame.level("waist_back")
        if neck - BACK_NECK_MM[0] < y < neck + BACK_NECK_MM[1] and aside < BACK_NECK_ASIDE_MM:
            return "fold_loose_horizontals", "back_neck", None
        if waist - BACK_WAIST_MM[0] < y < waist + BACK_WAIST_MM[1]:
            return "fold_loose_horizontals", "back_waist", None
    level = "bust_point" if frame.view == "front" else "shoulder_blade"
    if line.fold.tension == "taut" and abs(y - frame.level(level)) < AT_BUST_MM:
        return "fold_horizontals", "bust" if frame.view == "front" else "blade", None
    if line.fold.tension == "taut" and abs(y - frame.level("hip_side")) < AT_HIP_MM:
        return "fold_horizontals", "hip", None
    return None


def _vertical(line: Line, frame: Frame) -> tuple[str, str, Side | None] | None:
    if line.steep > UPRIGHT_DEG or frame.view in ("right", "left"):
        return None
    side = frame.side_of(line)
    if frame.view == "front":
        bust = frame.at("bust_point", side)
        below = bust[1] + UNDER_BUST_MM < line.middle[1] < frame.level("waist_front") + BELOW_LEVEL_MM
        return ("fold_verticals", "below_bust", side) if below and abs(line.middle[0] - bust[0]) < BESIDE_BUST_MM else None
    underarm = frame.at("underarm_point", side)
    beside = (
        frame.level("shoulder_point") < line.middle[1] < underarm[1] + BELOW_LEVEL_MM
        and abs(line.middle[0] - underarm[0]) < BESIDE_ARMHOLE_MM
    )
    return ("fold_verticals", "back_armhole", side) if beside else None


def _group(reading: _Reading, view: View) -> FoldGroup:
    """Crest and hollow are two sides of one fold, so the larger of the two totals counts."""
    folds = [line.fold for line in reading.lines]
    by_kind = [[f for f in folds if f.kind == kind] for kind in ("ridge", "valley")]
    strength = max(sum(f.strength for f in part) for part in by_kind)
    known = [[f.take_up_mm for f in part if f.take_up_mm is not None] for part in by_kind]
    take_up = max(sum(part) for part in known) if any(known) else None
    return FoldGroup(
        reading.id,
        reading.at,
        reading.side,
        view,
        tuple(line.number for line in reading.lines),
        strength,
        take_up,
        None if take_up is None else COMMON_SD * take_up,
        strength >= SIGNIFICANT and max(f.height_mm for f in folds) >= HIGHEST_MM,
        reading.starts_at,
        reading.ends_at,
    )
