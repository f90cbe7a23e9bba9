"""What is no fold though it looks like one: the grid of creases from the pattern's packet, and tissue crumpled all over."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats

STRAIGHT = 0.985  # chord over length of a crease
SQUARE_DEG = 6.0  # how far a crease may stray from its family, and the families from a right angle
SAME_LINE_MM = 9.0
LINE_MM = 90.0  # least length of the pieces of one crease together
EACH_WAY, LINES = 2, 5  # creases needed in each direction, and in all (a sheet folded into a packet shows many)
EVEN = 0.12  # spacing may differ from the smallest, or twice that where one crease is not seen, by this share of it

CRUMPLED_SHARE = 0.30  # of the cloth that lies within REACH_MM of a curve
REACH_MM = 12.0
NO_DIRECTION = 0.35  # length of the mean doubled direction below which curves run anyhow
SHORT_MM = 75.0  # median length of crumples; a garment full of long folds is readable


def packet_grid(curves: Sequence[Floats], step_mm: float) -> list[bool]:
    """Which curves are creases of a regular straight grid.

    Parameters
    ----------
    curves : sequence of ndarray, shape (N, 2)
        Pixels.
    step_mm : float
        Size of a pixel.

    Returns
    -------
    list of bool
        One for each curve; all False where there is no grid of at least five lines, two each way, evenly spaced.
    """
    none = [False] * len(curves)
    ends = np.array([[c[0], c[-1]] for c in curves]).reshape(-1, 2, 2) * step_mm
    chord = ends[:, 1] - ends[:, 0]
    chords = np.hypot(chord[:, 0], chord[:, 1])
    lengths = np.array([float(np.hypot(*np.diff(c, axis=0).T).sum()) for c in curves]) * step_mm
    straight = chords > STRAIGHT * np.maximum(lengths, 1e-9)
    if straight.sum() < LINES:
        return none
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    axis = _main_axis(angle[straight], lengths[straight])
    crease = np.zeros(len(curves), bool)
    lines = []
    for turn in (0.0, np.pi / 2):
        away = np.abs((angle - axis - turn + np.pi / 2) % np.pi - np.pi / 2)
        family = np.flatnonzero(straight & (away < np.radians(SQUARE_DEG)))
        normal = np.array([-np.sin(axis + turn), np.cos(axis + turn)])
        places, members = _lines(ends[family].mean(1) @ normal, lengths[family])
        if len(places) < EACH_WAY or not _even(places):
            return none
        lines.append(len(places))
        crease[family[members]] = True
    return crease.tolist() if sum(lines) >= LINES else none


def _main_axis(angle: Floats, weight: Floats) -> float:
    """The direction that most of the length follows, right angles counted as the same: a histogram's peak, then the mean around it."""
    quarter = angle % (np.pi / 2)
    best = max(quarter, key=lambda a: float(weight[np.abs(_wrap(quarter - a)) < np.radians(SQUARE_DEG)].sum()))
    near = _wrap(quarter - best)
    use = np.abs(near) < np.radians(SQUARE_DEG)
    return float(best + np.average(near[use], weights=weight[use]))


def _wrap(angle: Floats) -> Floats:
    return np.asarray((angle + np.pi / 4) % (np.pi / 2) - np.pi / 4)


def _lines(places: Floats, lengths: Floats) -> tuple[Floats, NDArray[np.intp]]:
    """Places (mm) of the long lines that the pieces make, and which pieces those are."""
    order = np.argsort(places)
    groups = np.split(order, np.flatnonzero(np.diff(places[order]) > SAME_LINE_MM) + 1)
    groups = [group for group in groups if len(group) and lengths[group].sum() >= LINE_MM]
    found = np.array([np.average(places[group], weights=lengths[group]) for group in groups])
    return found, np.concatenate(groups) if groups else np.zeros(0, np.intp)


def _even(places: Floats) -> bool:
    gaps = np.diff(places)
    if len(gaps) < 2:
        return True
    base = float(gaps.min())
    multiple = np.round(gaps / base)
    base = float(gaps.sum() / multiple.sum())
    return bool((np.abs(gaps - multiple * base) < EVEN * base + 2.0).all() and multiple.max() <= 2)


def is_crumpled(curves: Sequence[Floats], step_mm: float, area_mm2: float) -> bool:
    """Whether short curves run anyhow over most of the cloth.

    Parameters
    ----------
    curves : sequence of ndarray, shape (N, 2)
        Pixels.
    step_mm : float
        Size of a pixel.
    area_mm2 : float
        Of the cloth they were looked for on.
    """
    if len(curves) < 12:
        return False
    steps = np.concatenate([np.diff(c, axis=0) for c in curves]) * step_mm
    sizes = np.hypot(steps[:, 0], steps[:, 1])
    doubled = np.exp(2j * np.arctan2(steps[:, 1], steps[:, 0]))
    lengths = [float(np.hypot(*np.diff(c, axis=0).T).sum()) * step_mm for c in curves]
    covered = float(sizes.sum()) * 2 * REACH_MM / max(area_mm2, 1.0)
    directed = abs(complex((doubled * sizes).sum() / max(float(sizes.sum()), 1e-9)))
    return covered > CRUMPLED_SHARE and directed < NO_DIRECTION and float(np.median(lengths)) < SHORT_MM
