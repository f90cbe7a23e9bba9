"""What is no fold though it looks like one: the grid of creases from the pattern's packet, and tissue crumpled all over.

Both are lines much finer than folds: a crease is bright on one flank and dark on the other within a few millimetres, which the scale at
which folds are read hardly sees. So the finest lines of the cloth are traced first, in grey levels, where the camera's noise is the same
in light and shade. The figures are set by 66 rendered fittings on which creases and crumples were drawn (164 photos as they are, 82 of
them again with a grid of 4 to 8 % contrast and 3 to 6 mm width, 82 with crumples of 6 to 14 %).
"""

from collections.abc import Sequence
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.light import FULL, GAMMA
from fitcheck.core.polyline import length
from fitcheck.core.records import Floats
from fitcheck.vision.folds.bare_cloth import STEP_MM, BareCloth, mean_of_known
from fitcheck.vision.trace.ridges import ridge_and_valley_chains

FLATTEN_MM = 8.0  # fine lines stand out against the mean over about this far
LINE_SIGMA_MM = 2.5  # of the smoothing: a pixel
PLAIN, OF_NOISE = 1.0, 1.6  # ridge response that begins a line: grey levels, or a multiple of the noise if that is more; half of it goes on
MEDIAN_OF_SD = 0.6745  # of the sizes of normally distributed values, over their standard deviation
MASK_SD = 6  # of what the noise mask leaves of noise of 1
SHORTEST_MM = 25.0  # of a fine line

STRAIGHT = 0.98  # chord over length of a crease
SQUARE_DEG = 6.0  # how far a crease may stray from its family, and the families from a right angle
SAME_LINE_MM = 9.0  # pieces no farther apart across are one crease: its two flanks
LINE_MM = 75.0  # least length of the pieces of one crease together; both flanks count
EACH_WAY, LINES = 2, 5  # creases needed in each direction, and in all (a sheet folded into a packet shows many)
EVEN = 0.12  # spacing may differ from the others, or twice that where one crease is not seen, by this share of it
STRAY_MM = 2.0  # of a line from its place, beside that share
MOST_TEETH = 2  # from crease to crease: one may be missed between, not two
APART_MM = 60.0  # least spacing

CRUMPLED_SHARE = 0.45  # of the cloth that lies within REACH_MM of a curve; smooth cloth has 0.4 at most
REACH_MM = 12.0  # of a curve to both sides
NO_DIRECTION = 0.40  # length of the mean doubled direction, and of the quadrupled, below which curves run neither one way nor squarely
FEWEST = 12  # curves that may be crumples
SHORT_MM = 75.0  # median length of crumples; a garment full of long folds is readable


def fine_lines(bare: BareCloth, readable: NDArray[np.bool_]) -> list[Floats]:
    """Fine bright and dark lines of the cloth, whatever made them.

    Parameters
    ----------
    bare : BareCloth
    readable : ndarray of bool, shape (H, W)
        Where they are looked for; not where cloth was filled in.

    Returns
    -------
    list of ndarray, shape (N, 2)
        Pixels of the bare cloth.
    """
    grey = np.asarray(FULL * np.clip(bare.brightness, 0, 1) ** (1 / GAMMA), np.float32)
    known = (bare.shows & (bare.brightness > 0)).astype(np.float32)
    mean, _ = mean_of_known(grey * known, known, FLATTEN_MM)
    allowed = cv2.erode((bare.shows & readable).astype(np.uint8), np.ones((3, 3), np.uint8))
    if not allowed.any():
        return []
    plain = max(PLAIN, OF_NOISE * _noise(grey, allowed))
    chains = ridge_and_valley_chains((grey - mean) * known, allowed, LINE_SIGMA_MM / STEP_MM, plain / 2, plain)
    return [chain for of_kind in chains for chain in of_kind if length(chain) * STEP_MM >= SHORTEST_MM]


def _noise(grey: NDArray[np.float32], allowed: NDArray[np.uint8]) -> float:
    """Standard deviation of the noise (J. Immerkaer 1996, "Fast noise variance estimation"; his mask, but the median of what it leaves)."""
    mask = np.outer([1, -2, 1], [1, -2, 1]).astype(np.float32)
    return float(np.median(np.abs(cv2.filter2D(grey, cv2.CV_32F, mask)[allowed > 0]))) / (MEDIAN_OF_SD * MASK_SD)


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
        One for each curve; all False where there is no grid of at least five lines, two each way, evenly spaced. Other lines may
        run among them.
    """
    none = [False] * len(curves)
    ends = np.array([[c[0], c[-1]] for c in curves]).reshape(-1, 2, 2) * step_mm
    chord = ends[:, 1] - ends[:, 0]
    chords = np.hypot(chord[:, 0], chord[:, 1])
    lengths = np.array([length(c) for c in curves]) * step_mm
    straight = chords > STRAIGHT * np.maximum(lengths, 1e-9)
    if straight.sum() < LINES:
        return none
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    axis = _main_axis(angle[straight], lengths[straight])
    crease = np.zeros(len(curves), bool)
    count = 0
    for turn in (0.0, np.pi / 2):
        away = np.abs((angle - axis - turn + np.pi / 2) % np.pi - np.pi / 2)
        family = np.flatnonzero(straight & (away < np.radians(SQUARE_DEG)))
        normal = np.array([-np.sin(axis + turn), np.cos(axis + turn)])
        lines = _lines(ends[family].mean(1) @ normal, lengths[family])
        if len(lines) < EACH_WAY:
            return none
        count += len(lines)
        crease[family[np.concatenate(lines)]] = True
    return crease.tolist() if count >= LINES else none


def _main_axis(angle: Floats, weight: Floats) -> float:
    """The direction that most of the length follows, right angles counted as the same: a histogram's peak, then the mean around it."""
    quarter = angle % (np.pi / 2)
    best = max(quarter, key=lambda a: float(weight[np.abs(_wrap(quarter - a)) < np.radians(SQUARE_DEG)].sum()))
    near = _wrap(quarter - best)
    use = np.abs(near) < np.radians(SQUARE_DEG)
    return float(best + np.average(near[use], weights=weight[use]))


def _wrap(angle: Floats) -> Floats:
    return np.asarray((angle + np.pi / 4) % (np.pi / 2) - np.pi / 4)


def _lines(places: Floats, lengths: Floats) -> list[NDArray[np.intp]]:
    """The evenly spaced long lines of one family: which pieces make up each.

    Parameters
    ----------
    places, lengths : ndarray, shape (N,)
        Of the pieces, mm.
    """
    order = np.argsort(places)
    groups = np.split(order, np.flatnonzero(np.diff(places[order]) > SAME_LINE_MM) + 1)
    groups = [group for group in groups if len(group) and lengths[group].sum() >= LINE_MM]
    at = np.array([np.average(places[group], weights=lengths[group]) for group in groups])
    long = np.array([lengths[group].sum() for group in groups])
    combs = [
        _comb(at, long, i, (at[j] - at[i]) / parts)
        for i, j in combinations(range(len(at)), 2)
        for parts in (1, 2)
        if at[j] - at[i] >= parts * APART_MM
    ]
    best = max(combs, key=lambda comb: float(long[comb].sum()), default=[])
    return [groups[k] for k in best]


def _comb(places: Floats, lengths: Floats, start: int, spacing: float) -> list[int]:
    """The lines that lie a whole number of spacings from the first, the longest at each tooth, no two teeth running without one."""
    tooth = np.round((places - places[start]) / spacing).astype(int)
    near = np.abs(places - places[start] - tooth * spacing) < EVEN * spacing + STRAY_MM
    at = {int(tooth[k]): int(k) for k in np.argsort(lengths) if near[k]}  # the longest comes last and stays
    teeth = np.array(sorted(at))
    runs = np.split(teeth, np.flatnonzero(np.diff(teeth) > MOST_TEETH) + 1)
    return next([at[int(t)] for t in run] for run in runs if 0 in run)


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
    if len(curves) < FEWEST:
        return False
    steps = np.concatenate([np.diff(c, axis=0) for c in curves]) * step_mm
    sizes = np.hypot(steps[:, 0], steps[:, 1])
    turned = np.exp(1j * np.arctan2(steps[:, 1], steps[:, 0]))
    lengths = [length(c) * step_mm for c in curves]
    covered = float(sizes.sum()) * 2 * REACH_MM / max(area_mm2, 1.0)
    directed = max(abs(complex((turned**times * sizes).sum())) / max(float(sizes.sum()), 1e-9) for times in (2, 4))
    return covered > CRUMPLED_SHARE and directed < NO_DIRECTION and float(np.median(lengths)) < SHORT_MM
