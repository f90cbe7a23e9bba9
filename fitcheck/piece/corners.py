"""A coarse outline parted at its corners, and bridged where something lies on it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.smooth import meeting

STEP_MM = 1.5
END_MM = 5.0  # of an edge beside a corner, left out: the coarse outline is round there
FIRST_WAVE_MM = 24.0  # the coarse outline is no smoother than that
ROUND_MM = 2.5  # the coarse outline is rounded by that much
NEAR_MM, FAR_MM = 1.5, 9.0  # the arms on which a corner is seen
CORNER_DEG = 38.0  # a curve of 20 mm radius turns by 30 degrees between the arms' middles, a shoulder by 80 (estimate)
STRAIGHT_DEG, SHARP_DEG = 25.0, 60.0  # a corner that turns less is none where an edge beside it turns by more
APART_MM, ALIKE_MM = 9.0, 21.0  # of two corners; of two that turn the same way, as a rounded one seems to be two
FINGERS_MM = 26.0  # between two hidden stretches, which are then one
ARM_MM, AT_LEAST = 40.0, 6  # beside a hidden stretch, by which it is told how it goes on; steps that are always taken
BENDS_MM, MOST_BEND = 20.0, 1 / 25  # shorter arms are taken for straight; radians a millimetre: of no radius below 25 mm
BACK_MM = 3.0  # of a corner before the end of what is seen
LEAST_CROSS, FARTHEST = 0.2, 1.5  # sine between two lines that meet; how far from the ends, in what lies between them, a corner may be
TURN_DEG = 40.0  # by which a hidden stretch must turn to hide a corner
HIDDEN_MARGIN_MM = 4.0
FACING_DEG, FACING_MM, HALF_CM2 = 45.0, 250.0, 120.0  # of two pieces that touch: their corners, how far apart, each piece (estimate)


def parted(outline: Floats, hidden: NDArray[np.bool_], fingers_mm: float = FINGERS_MM) -> tuple[list[Floats], list[NDArray[np.bool_]]]:
    """The stretches of a closed outline between its corners, in order, each beginning where the one before ends.

    Parameters
    ----------
    outline : ndarray, shape (N, 2)
        Closed, coarse, mm.
    hidden : ndarray of bool, shape (N,)
    fingers_mm : float
        What is seen between two hidden stretches and is shorter is not believed.

    Returns
    -------
    list of ndarray, list of ndarray of bool
        Points about `STEP_MM` apart, and which of them are bridged.
    """
    even, dark = _even(outline, hidden)
    even, dark, turned = _bridged(even, dark, fingers_mm)
    turn = turning_deg(even)
    corners = _peaks(turn)
    for run in turned:  # a corner lies somewhere beneath a hand
        if not np.isin(np.arange(run[0] - AT_LEAST, run[-1] + AT_LEAST) % len(even), corners).any():
            corners = sorted([*corners, int(run[np.argmax(np.abs(turn[run]))])])
    if len(corners) < 2:
        corners = [0, len(even) // 2]
    stretches, covered = [], []
    for start, end in zip(corners, [*corners[1:], corners[0] + len(even)], strict=True):
        index = np.arange(start, end + 1) % len(even)
        stretches.append(even[index])
        covered.append(dark[index])
    return stretches, covered


def touching(outline: Floats, hidden: NDArray[np.bool_]) -> bool:
    """Whether an outline is that of two pieces that touch: two corners that point inwards face each other, with much paper on either side.

    Parameters
    ----------
    outline : ndarray, shape (N, 2)
        Closed, coarse, clockwise as seen, mm.
    hidden : ndarray of bool, shape (N,)
        Where something lies on the edge: two hands that face each other are no pieces.
    """
    even, dark = _even(outline, hidden)
    turn = turning_deg(even)
    inwards = [i for i in _peaks(turn) if turn[i] < -FACING_DEG]
    for a in range(len(inwards)):
        for b in range(a + 1, len(inwards)):
            i, j = inwards[a], inwards[b]
            if float(np.hypot(*(even[i] - even[j]))) < FACING_MM and not (dark[i] and dark[j]):
                areas = [Polygon(part).buffer(0).area / 100 for part in (even[i : j + 1], np.vstack([even[j:], even[: i + 1]]))]
                if min(areas) > HALF_CM2:
                    return True
    return False


def settled(edges: Sequence[Floats]) -> list[Floats]:
    """Edges parted where the outline turns, and not where it runs straight on while it turns elsewhere on one of both.

    Parameters
    ----------
    edges : sequence of ndarray, shape (N, 2)
        Clockwise as seen, each beginning where the one before ends.
    """
    found = list(edges)
    for i in range(len(found)):
        whole = np.vstack([found[i - 1], found[i][1:]])
        along = arc_length(whole)
        even = at_lengths(whole, np.arange(0.0, float(along[-1]), STEP_MM))
        margin, at = round(1.5 * FAR_MM / STEP_MM), round(float(along[len(found[i - 1]) - 1]) / STEP_MM)
        if len(even) < 3 * margin:
            continue
        turn = turning_deg(even)
        turn[:margin] = turn[-margin:] = 0.0  # there it is seen round to the other end
        place = int(np.argmax(turn))
        if np.abs(turn[max(0, at - 2) : at + 3]).max(initial=0.0) < STRAIGHT_DEG and turn[place] > SHARP_DEG:
            far = place * STEP_MM
            corner = at_lengths(whole, np.array([far]))
            found[i - 1], found[i] = np.vstack([whole[along < far], corner]), np.vstack([corner, whole[along > far]])
    return found


def without_ends(line: Floats) -> Floats:
    """A stretch without its ends, where the corner's other side was seen too; short ones keep more."""
    along = arc_length(line)
    end = min(END_MM, along[-1] / 6)
    kept = line[(along >= end) & (along <= along[-1] - end)]
    return kept if len(kept) >= 4 else line


def turning_deg(closed: Floats, near_mm: float = NEAR_MM, far_mm: float = FAR_MM, step_mm: float = STEP_MM) -> Floats:
    """By how much a closed line turns at each point, between an arm before and an arm after it, clockwise positive, shape (N,)."""
    near, far = round(near_mm / step_mm), round(far_mm / step_mm)

    def way(sign: int) -> Floats:
        return np.asarray((np.roll(closed, -sign * far, axis=0) - np.roll(closed, -sign * near, axis=0)) * sign)

    before, after = way(-1), way(1)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.degrees(np.arctan2(cross, (before * after).sum(axis=1))))


def _even(outline: Floats, hidden: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.bool_]]:
    closed = np.vstack([outline, outline[:1]])
    total = float(arc_length(closed)[-1])
    count = int(total / STEP_MM)
    along = np.linspace(0, total, count, endpoint=False)
    even = at_lengths(closed, along)
    nearest = np.searchsorted(arc_length(closed)[:-1], along, side="right") - 1
    dark = hidden[np.clip(nearest, 0, len(hidden) - 1)]
    reach = int(3 * ROUND_MM / STEP_MM)
    weight = np.exp(-0.5 * (np.arange(-reach, reach + 1) * STEP_MM / ROUND_MM) ** 2)
    weight /= weight.sum()
    shares = np.where(dark, 1e-6, 1.0)[:, None]  # a finger's edge draws nothing to itself
    sides = list(zip(range(-reach, reach + 1), weight, strict=True))
    soft = sum(w * np.roll(even * shares, k, axis=0) for k, w in sides) / sum(w * np.roll(shares, k, axis=0) for k, w in sides)
    grow = round(HIDDEN_MARGIN_MM / STEP_MM)
    wide = np.zeros_like(dark)
    for k in range(-grow, grow + 1):
        wide |= np.roll(dark, k)
    return np.asarray(soft), wide


def _bridged(even: Floats, dark: NDArray[np.bool_], fingers_mm: float) -> tuple[Floats, NDArray[np.bool_], list[NDArray[np.intp]]]:
    """Hidden stretches drawn as the ends beside them go on: a smooth curve, or a corner where they turn too much for one; those last."""
    turned: list[NDArray[np.intp]] = []
    if not dark.any() or dark.all():
        return even, dark, turned
    dark = _closed(dark, round(fingers_mm / STEP_MM))
    if dark.all():
        return even, dark, turned
    first = int(np.flatnonzero(~dark & np.roll(dark, -1))[0])
    even, dark = np.roll(even, -first, axis=0), np.roll(dark, -first)
    runs = np.append(np.flatnonzero(np.diff(dark.astype(int))), len(even) - 1)
    usable = ~dark & (np.abs(turning_deg(even)) < CORNER_DEG)
    found = even.copy()
    for start, last in zip(runs[:-1:2], runs[1::2], strict=True):
        index = np.arange(start, last + 2) % len(even)
        before, after = _arm(even, usable, int(start), -1), _arm(even, usable, int(last + 1), 1)
        way, corner = _bridge(before, after, len(index))
        found[index[1:-1]] = way[1:-1]
        turned += [index] if corner else []
    return found, dark, turned


def _arm(even: Floats, usable: NDArray[np.bool_], place: int, way: int) -> Floats:
    """What is seen from a place on, away from a hidden stretch, as far as the next corner, shape (N, 2); ordered from the place."""
    index = (place + way * np.arange(round(ARM_MM / STEP_MM) + 1)) % len(even)
    stop = np.flatnonzero(~usable[index[AT_LEAST:]])
    return np.asarray(even[index[: AT_LEAST + int(stop[0]) if len(stop) else len(index)]])


def _bridge(before: Floats, after: Floats, count: int) -> tuple[Floats, bool]:
    """The way from the first place of one arm to that of another, shape (count, 2), and whether a corner must lie on it."""
    a, b = before[0], after[0]
    (u, bend), (v, other_bend) = _leaving(before), _leaving(after)
    v = -v
    apart = float(np.hypot(*(b - a)))
    t = np.linspace(0, 1, count)[:, None]
    cross = float(u[0] * v[1] - u[1] * v[0])
    # an armhole turns under a hand as it does beside it: what is turned beyond that is a corner
    turn = np.degrees(np.arctan2(cross, float(u @ v)) - apart * (bend - other_bend) / 2)
    if abs(turn) > TURN_DEG:
        straight = None if abs(cross) < LEAST_CROSS else a + u * float((b - a)[0] * v[1] - (b - a)[1] * v[0]) / cross
        for corner in (meeting(before[::-1], after, ARM_MM), straight):
            if corner is None or (corner - a) @ u < -BACK_MM or (corner - b) @ v > BACK_MM:  # none lies on what is seen
                continue
            if max(np.hypot(*(corner - a)), np.hypot(*(corner - b))) < FARTHEST * apart:
                return np.where(t < 0.5, a + 2 * t * (corner - a), corner + (2 * t - 1) * (b - corner)), True
    from_a, from_b = (
        (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * u * apart,
        (3 * t**2 - 2 * t**3) * b + (t**3 - t**2) * v * apart,
    )
    return np.asarray(from_a + from_b), bool(abs(turn) > TURN_DEG)


def _leaving(arm: Floats) -> tuple[Floats, float]:
    """The direction in which an arm leaves its first place, shape (2,), and its bend there, radians a millimetre, clockwise positive."""
    s = arc_length(arm)
    bends = s[-1] > BENDS_MM
    columns = [np.polynomial.Polynomial.fit(-s, column, 2 if bends else 1).convert() for column in arm.T]
    way = np.array([column.deriv()(0.0) for column in columns])
    turn = np.array([column.deriv(2)(0.0) for column in columns])
    long = float(np.hypot(*way))
    bend = float(way[0] * turn[1] - way[1] * turn[0]) / long**3
    return way / long, float(np.clip(bend, -MOST_BEND, MOST_BEND))


def _closed(dark: NDArray[np.bool_], gap: int) -> NDArray[np.bool_]:
    """Stretches joined over short gaps, round the closed line."""
    wide = dark.copy()
    for k in range(1, gap // 2 + 1):
        wide |= np.roll(dark, k) | np.roll(dark, -k)
    narrow = wide.copy()
    for k in range(1, gap // 2 + 1):
        narrow &= np.roll(wide, k) & np.roll(wide, -k)
    return np.asarray(narrow | dark)


def _peaks(turn: Floats) -> list[int]:
    """Where a line turns most, one place a corner, in order."""
    kept: list[int] = []
    for i in np.argsort(-np.abs(turn)):
        if abs(turn[i]) < CORNER_DEG:
            break
        apart = [min(abs(int(i) - k), len(turn) - abs(int(i) - k)) * STEP_MM for k in kept]
        alike = [turn[i] * turn[k] > 0 for k in kept]
        if all(far >= (ALIKE_MM if same else APART_MM) for far, same in zip(apart, alike, strict=True)):
            kept.append(int(i))
    return sorted(kept)
