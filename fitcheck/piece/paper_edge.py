"""Where the edge of the paper runs, to a tenth of a millimetre: the step from tissue to table, along a course found as a whole.

The colour that parts the two best is found along the line as it goes (Fisher's discriminant), so that wood grain, which is light and
dark, weighs less than the tissue's paleness; levels are light, not grey values, so that blur does not move the edge.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.light import light_of
from fitcheck.core.polyline import arc_length, at_lengths
from fitcheck.core.records import Floats
from fitcheck.piece.smooth import smoothed
from fitcheck.piece.table import Table

STEP_MM = 1.5
ACROSS_MM = 0.12  # between samples across
DEEP_MM = 5.0  # beyond where the edge is looked for: tissue and table are learnt there
TISSUE_SHARE = 0.7  # of what lies within, nearest its median: a printed line beside the edge, a fold's bracket, is no tissue
NEIGHBOURS = 22  # samples along to either side that share one colour direction
LEAP_MM = 0.25  # usual change of the edge's place from sample to sample
WAVE_MM, USUAL_MM = 48.0, 0.2  # of what is left over a line that is followed already: shorter is wood grain; what single places lie off
FINE_MM = 1.0  # around the course, where the step's light is added up
LEAST_STEP = 0.25  # of the usual step of light; fainter places count little


def refined(table: Table, stretch: Floats, covered: NDArray[np.bool_], search_mm: float, wave_mm: float = WAVE_MM) -> Floats:
    """The paper's edge near a stretch of coarse outline (clockwise as seen), shape (M, 2), about `STEP_MM` apart.

    Parameters
    ----------
    covered : ndarray of bool, shape (N,)
        Where nothing of it is to be seen: the coarse outline stays.
    search_mm : float
        How far to either side it is looked for.
    wave_mm : float
        Shorter changes beside the stretch are smoothed out.
    """
    total = float(arc_length(stretch)[-1])
    count = max(6, round(total / STEP_MM) + 1)
    along = np.linspace(0, total, count)
    points = at_lengths(stretch, along)
    dark = np.interp(along, arc_length(stretch), covered.astype(float)) > 0.3
    out = outwards(points)
    reach = search_mm + DEEP_MM
    d = np.arange(-reach, reach + ACROSS_MM / 2, ACROSS_MM)
    light = light_of(table.colours(points[:, None] + d[:, None] * out[:, None])).astype(np.float32)
    dark |= ~np.isfinite(light).all(axis=(1, 2))
    light = np.nan_to_num(light)
    level, contrast = _parted(light, d, search_mm)
    course = _course(level, d, search_mm)
    fine = _added_up(level, d, course)
    clear = contrast / max(float(np.median(contrast[~dark])) if (~dark).any() else 1.0, 1e-6)
    weights = np.where(dark, 0.0, np.clip((clear - LEAST_STEP) / (1 - LEAST_STEP), 0.02, 1.0))
    weights[[0, 1, -2, -1]] *= 0.15  # round the corner other edges are seen
    step = total / (count - 1)
    offset = smoothed(fine, weights, step, min(wave_mm, 0.5 * total + 6), USUAL_MM)
    offset = np.where(dark, np.clip(offset, -search_mm, search_mm), offset)
    return np.asarray(points + offset[:, None] * out)


def outwards(points: Floats) -> Floats:
    """Unit vectors to the left of a line that runs clockwise as seen (y downwards), shape (N, 2)."""
    way = np.gradient(points, axis=0)
    way = cv2.blur(way.astype(np.float64), (1, 5), borderType=cv2.BORDER_REPLICATE)
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    return np.column_stack([way[:, 1], -way[:, 0]])


def _parted(light: NDArray[np.float32], d: Floats, search_mm: float) -> tuple[Floats, Floats]:
    """Light across as 1 on the paper and 0 on the table, shape (M, D), and the size of the step in its own noise, shape (M,)."""
    inside, outside = d < -search_mm, d > search_mm
    means = [_along(np.median(light[:, part], axis=1)) for part in (inside, outside)]
    spread = np.zeros((len(light), 3, 3))
    for part, mean, share in zip((inside, outside), means, (TISSUE_SHARE, 1.0), strict=True):
        off = light[:, part] - mean[:, None]
        far = np.abs(off).sum(axis=-1)
        kept = far <= np.quantile(far, share, axis=1, keepdims=True)
        spread += np.einsum("mdi,mdj->mij", off * kept[..., None], off) / kept.sum(axis=1)[:, None, None]
    spread = _along(spread.reshape(len(light), 9)).reshape(-1, 3, 3) + np.eye(3) * 1e-5
    step = means[0] - means[1]
    direction = np.linalg.solve(spread, step[..., None])[..., 0]
    size = (direction * step).sum(axis=1)
    level = np.einsum("mdi,mi->md", light - means[1][:, None], direction) / np.maximum(size, 1e-9)[:, None]
    return np.asarray(np.clip(level, -0.3, 1.3)), np.sqrt(np.maximum(size, 0))


def _along(values: Floats) -> Floats:
    """Medians and then means over the neighbours along the line."""
    count, reach = len(values), min(NEIGHBOURS, max(1, len(values) // 3))
    padded = np.pad(values, ((reach, reach), (0, 0)), mode="reflect" if count > reach else "edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1, axis=0)
    return np.asarray(np.mean(np.sort(windows, axis=-1)[..., reach // 2 : 2 * reach + 1 - reach // 2], axis=-1))


def _course(level: Floats, d: Floats, search_mm: float) -> NDArray[np.intp]:
    """The likeliest course: least squares of a step at each place, with small changes from sample to sample (Viterbi)."""
    soft = cv2.blur(level.astype(np.float32), (1, 3), borderType=cv2.BORDER_REFLECT)
    below = np.cumsum((1 - soft) ** 2, axis=1)
    above = np.cumsum((soft**2)[:, ::-1], axis=1)[:, ::-1]
    price = below + np.pad(above[:, 1:], ((0, 0), (0, 1)))
    places = np.flatnonzero(np.abs(d) <= search_mm)
    price = price[:, places] * ACROSS_MM / 0.12
    band = np.arange(-6, 7)
    step = 0.5 * (band * ACROSS_MM / LEAP_MM) ** 2
    total, back = price[0].copy(), np.zeros((len(price), len(places)), np.intp)
    reach = len(band) // 2
    padded = np.full(len(places) + 2 * reach, np.inf)
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(band))  # of what is filled in for each sample
    at = np.arange(len(places))
    for i in range(1, len(price)):
        padded[reach:-reach] = total
        options = windows + step
        best = options.argmin(axis=1)
        back[i] = at + best - reach  # beyond the ends nothing is the least
        total = options[at, best] + price[i]
    course = np.empty(len(price), np.intp)
    course[-1] = int(total.argmin())
    for i in range(len(price) - 1, 0, -1):
        course[i - 1] = back[i, course[i]]
    return places[course]


def _added_up(level: Floats, d: Floats, course: NDArray[np.intp]) -> Floats:
    """The edge lies where a sharp step would hold as much light as is seen around the course, shape (M,)."""
    half = round(FINE_MM / ACROSS_MM)
    index = np.clip(course[:, None] + np.arange(-half, half + 1), 0, level.shape[1] - 1)
    near = np.take_along_axis(level, index, axis=1)
    return np.asarray(d[course] - FINE_MM + (near.sum(axis=1) - 0.5 * (near[:, 0] + near[:, -1])) * ACROSS_MM)
