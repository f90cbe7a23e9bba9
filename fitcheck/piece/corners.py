"""A coarse outline parted at its corners, and bridged where something lies on it."""

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats

STEP_MM = 1.5
ROUND_MM = 2.5  # the coarse outline is rounded by that much
NEAR_MM, FAR_MM = 1.5, 9.0  # the arms on which a corner is seen
CORNER_DEG = 38.0  # a curve of 20 mm radius turns by 30 degrees between the arms' middles, a shoulder by 80 (estimate)
APART_MM, ALIKE_MM = 9.0, 21.0  # of two corners; of two that turn the same way, as a rounded one seems to be two
FINGERS_MM = 26.0  # between two hidden stretches, which are then one
ARM_MM = 28.0  # beside a hidden stretch, whose ends tell how it goes on
TURN_DEG = 40.0  # by which a hidden stretch must turn to hide a corner
HIDDEN_MARGIN_MM = 4.0
FACING_DEG, FACING_MM, HALF_CM2 = 45.0, 250.0, 120.0  # of two pieces that touch: their corners, how far apart, each piece (estimate)


def parted(outline: Floats, hidden: NDArray[np.bool_]) -> tuple[list[Floats], list[NDArray[np.bool_]]]:
    """The stretches of a closed outline between its corners, in order, each beginning where the one before ends.

    Parameters
    ----------
    outline : ndarray, shape (N, 2)
        Closed, coarse, mm.
    hidden : ndarray of bool, shape (N,)

    Returns
    -------
    list of ndarray, list of ndarray of bool
        Points about `STEP_MM` apart, and which of them are bridged.
    """
    even, dark = _even(outline, hidden)
    even, dark = _bridged(even, dark)
    turn = turning_deg(even)
    corners = _peaks(turn)
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
    soft = sum(w * np.roll(even, k, axis=0) for k, w in zip(range(-reach, reach + 1), weight, strict=True))
    grow = round(HIDDEN_MARGIN_MM / STEP_MM)
    wide = np.zeros_like(dark)
    for k in range(-grow, grow + 1):
        wide |= np.roll(dark, k)
    return np.asarray(soft), wide


def _bridged(even: Floats, dark: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.bool_]]:
    """Hidden stretches drawn as the ends beside them go on: a smooth curve, or a corner where they turn too much for one."""
    if not dark.any() or dark.all():
        return even, dark
    dark = _closed(dark, round(FINGERS_MM / STEP_MM))
    if dark.all():
        return even, dark
    first = int(np.flatnonzero(~dark & np.roll(dark, -1))[0])
    even, dark = np.roll(even, -first, axis=0), np.roll(dark, -first)
    runs = np.flatnonzero(np.diff(dark.astype(int)))
    found, at, arm = even.copy(), 0, round(ARM_MM / STEP_MM)
    while at < len(runs):
        start, end = int(runs[at]), int(runs[at + 1]) + 1 if at + 1 < len(runs) else len(even)
        a, b = even[start], even[end % len(even)]
        back = a - even[start - arm]
        ahead = even[(end + arm) % len(even)] - b
        u, v = back / np.hypot(*back), ahead / np.hypot(*ahead)
        t = np.linspace(0, 1, end - start + 1)[1:-1, None]
        turn = np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))
        cross = u[0] * v[1] - u[1] * v[0]
        far = ((b - a)[0] * v[1] - (b - a)[1] * v[0]) / cross if abs(cross) > 0.2 else -1.0
        apart = float(np.hypot(*(b - a)))
        if abs(turn) > TURN_DEG and 0 < far < 1.5 * apart:
            corner = a + far * u
            found[start + 1 : end] = np.where(t < 0.5, a + 2 * t * (corner - a), corner + (2 * t - 1) * (b - corner))
        else:
            h = (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * u * apart + (3 * t**2 - 2 * t**3) * b + (t**3 - t**2) * v * apart
            found[start + 1 : end] = h
        at += 2
    return found, dark


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
