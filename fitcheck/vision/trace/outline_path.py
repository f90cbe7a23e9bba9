"""The likeliest course of an outline down a picture: edge evidence of all rows weighed together by dynamic programming.

A single row may show a pen line or the rim of a shade more strongly than the outline itself. The outline, however, runs on from row to
row, has other colours on its two sides (a pen line has cloth on both), and has no other edge outside it. Every row offers places
around the coarse border; each has a price: little evidence, far from the border, another edge farther out. The course with the
lowest total, a step from row to row costing by its square (Viterbi 1967; both ways, so that every place's best total is known), is the
outline, and how the totals rise around it tells how surely.
"""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.light import FULL, GAMMA
from fitcheck.core.records import Floats

STEP_MM = 5.0  # between rows
PLACE_MM, REACH = 1.0, 18  # between places of a row, and how many to either side of the smoothed border
NEAR, INNER, OUTER = 1, (3, 8), (1, 5)  # places from the edge: of the step itself; of the colours inside (past a pen line) and outside
CLEAR, FAINT = 25.0, 2.0  # colour steps in grey levels: as good as can be; as noise makes
BORDER_SD_MM, STRAY_SD_MM, STRAYING = 6.0, 20.0, 0.3  # of the border: usually; where the mask goes astray, and how often it does
OUTSIDE, APART = 0.3, 3  # price of an edge farther out as a share of its evidence, if so many places away
BEND_MM, LEAP = 1.4, 8.0  # usual change of the distance to the smoothed border from row to row; dearest step
LINES = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])  # of the step from point to point, averaged along the line
BAND = np.arange(-6, 7)  # places a step may go without a leap
REFINED_PX = 5.0  # of the line, averaged where the edge is placed finely
SHORTEST_STRIDE, LONGEST_STRIDE = 0.2, 3.0  # between points, in `STEP_MM`, that the price of a step is reckoned for
FINE_PX, NOTHING = np.arange(-4, 4.25, 0.5), 0.5  # within which the steepest place is looked for; grey levels per half pixel: no edge
FINE_BLUR, FINE_WINDOW = 1.6, 9  # of the profile, in its samples; how many the blur takes in
FINE_SD_PX = 1.5  # of that place about the course, as a weight (estimate)
NO_CHANCE = 1e-9  # kept from the logarithm of nothing
NEVER = 1e9  # price of a place that does not exist
EDGE_SD_MM, EDGE_SD_PX = 0.6, 0.3  # of a clear edge: half-lit rims; blur and JPEG (both measured on scenes)
# what makes an edge doubtful, mm: other courses nearly as good, a faint edge, one far from the coarse border (measured on scenes)
RIVAL_SHARE, USUAL_SPREAD_MM, FAINT_SD_MM, AWAY_SHARE, AWAY_MM = 1.5, 0.9, 12.0, 0.2, 3.0


@dataclass(frozen=True, slots=True)
class Course:
    """Where outlines run, one value for every point of the coarse borders they were looked for around.

    Attributes
    ----------
    shift_mm : ndarray
        From the point outwards, to half a place.
    spread_mm : ndarray
        Of the places nearly as good.
    clearness : ndarray
        1 where the edge is as clear as can be, 0 where nothing shows.
    """

    shift_mm: Floats
    spread_mm: Floats
    clearness: Floats


def follow_outlines(
    rgb: NDArray[np.uint8],
    points: Floats,
    outwards: Floats,
    along: Floats,
    border_mm: Floats,
    whole: NDArray[np.intp],
    px_per_mm: float,
) -> Course:
    """Follow some outlines near their coarse borders.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    points : ndarray, shape (L, N, 2)
        Of L smooth lines, about `STEP_MM` apart, around which the outlines are looked for.
    outwards : ndarray, shape (L, N, 2)
        Unit vectors along which they are looked for.
    along : ndarray, shape (L, N, 2)
        From point to point, pixels.
    border_mm : ndarray, shape (L, N)
        Where the coarse border itself lies, outwards from the points.
    whole : ndarray of int, shape (L, N)
        Points with the same number hang together; at 0 there is nothing to look for, and the course is without meaning.
    px_per_mm : float

    Returns
    -------
    Course
        All of shape (L, N).
    """
    shown = whole > 0
    colour_step = np.zeros((*whole.shape, 2 * REACH + 1))
    if shown.any():
        offset = np.asarray(PLACE_MM * px_per_mm * np.arange(-REACH - INNER[1], REACH + OUTER[1] + 1), float)
        colour_step[shown] = _steps(colours_across(rgb, points[shown], outwards[shown], along[shown], offset))
    evidence = np.log1p((colour_step / FAINT) ** 2)
    places = PLACE_MM * np.arange(-REACH, REACH + 1)
    astray = places - border_mm[..., None]
    likely = sum(share * np.exp(-0.5 * (astray / sd) ** 2) for share, sd in ((1 - STRAYING, BORDER_SD_MM), (STRAYING, STRAY_SD_MM)))
    beyond = np.maximum.accumulate(evidence[..., ::-1], axis=-1)[..., ::-1]
    price = OUTSIDE * np.pad(beyond[..., APART:], ((0, 0), (0, 0), (0, APART))) - evidence - np.log(likely + NO_CHANCE)
    joined = (whole[:, 1:] == whole[:, :-1]) & shown[:, 1:]
    stride = np.linalg.norm(np.diff(points, axis=1), axis=2) / (STEP_MM * px_per_mm)
    totals = _totals(price, joined, np.clip(stride, SHORTEST_STRIDE, LONGEST_STRIDE))
    best = totals.argmin(axis=-1)
    share = np.exp(totals.min(axis=-1, keepdims=True) - totals)
    spread = np.sqrt((share * (places - places[best][..., None]) ** 2).sum(-1) / share.sum(-1))
    clear = np.take_along_axis(colour_step, best[..., None], -1)[..., 0] / CLEAR
    return Course(places[best], spread, clear)


def colours_across(rgb: NDArray[np.uint8], points: Floats, outwards: Floats, along: Floats, offset: Floats) -> NDArray[np.float32]:
    """Colours from the inside outwards, averaged along the line, shape (M, offsets, 3).

    Parameters
    ----------
    points, outwards, along : ndarray, shape (M, 2)
    offset : ndarray
        Pixels along `outwards`.
    """
    at = (points[:, None] + LINES[:, None] * along[:, None])[:, :, None] + offset[:, None] * outwards[:, None, None]
    maps = at.reshape(-1, len(offset), 2).astype(np.float32)
    colours = cv2.remap(rgb, maps, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    lines = colours.reshape(len(points), len(LINES), -1)
    return np.asarray(lines.mean(axis=1, dtype=np.float32).reshape(len(points), len(offset), 3))


def placed_finely(rgb: NDArray[np.uint8], points: Floats, outwards: Floats, along: Floats, shift_px: Floats) -> Floats:
    """The steepest places near an outline's course, shape (M, 2); its own places where nothing shows.

    Looked for in the light itself: a pixel half covered is brighter than the mean of the two grey levels, so that these put edges a
    quarter of a pixel too far into the darker side.

    Parameters
    ----------
    points, outwards : ndarray, shape (M, 2)
        As given to `follow_outlines`.
    along : ndarray, shape (M, 2)
        Along the line, one pixel long.
    shift_px : ndarray, shape (M,)
        The course, outwards from the points.
    """
    found = points + shift_px[:, None] * outwards
    light = FULL * (colours_across(rgb, found, outwards, along * REFINED_PX, FINE_PX) / FULL) ** np.float32(GAMMA)
    profiles = cv2.GaussianBlur(light, (FINE_WINDOW, 1), sigmaX=FINE_BLUR)
    steps = np.linalg.norm(np.gradient(profiles, axis=1), axis=2)
    best = np.clip((steps**2 * np.exp(-0.5 * (FINE_PX / FINE_SD_PX) ** 2)).argmax(axis=1), 1, len(FINE_PX) - 2)
    shows = np.take_along_axis(steps, best[:, None], axis=1)[:, 0] > NOTHING
    finer = np.where(shows, FINE_PX[best] + 0.5 * between_samples(steps, best), 0.0)
    return np.asarray(found + finer[:, None] * outwards)


def between_samples(steps: NDArray[np.floating[Any]], best: NDArray[np.intp]) -> Floats:
    """Where the top of each row lies beside its highest sample `best`, in samples: that of a parabola through it and both neighbours."""
    each = np.arange(len(steps))
    before, here, after = steps[each, best - 1], steps[each, best], steps[each, best + 1]
    return np.asarray(np.clip(0.5 * (before - after) / np.minimum(before - 2 * here + after, -1e-9), -1, 1))


def doubt_px(course: Course, border_mm: Floats, px_per_mm: float) -> Floats:
    """Standard uncertainty of an outline across, px: more where others are nearly as good, it is faint or far from the border."""
    rival = RIVAL_SHARE * np.maximum(course.spread_mm - USUAL_SPREAD_MM, 0.0)
    away = AWAY_SHARE * np.maximum(np.abs(course.shift_mm - border_mm) - AWAY_MM, 0.0)
    faint = FAINT_SD_MM * (1 - course.clearness) ** 2
    return np.asarray(np.hypot(np.sqrt(EDGE_SD_MM**2 + rival**2 + away**2 + faint**2) * px_per_mm, EDGE_SD_PX))


def _steps(profiles: NDArray[np.float32]) -> NDArray[np.float32]:
    """Colour step at each place, shape (M, 2 REACH + 1): geometric mean of the step itself and that between the colours on both sides."""
    sums = np.cumsum(np.pad(profiles, ((0, 0), (1, 0), (0, 0))), axis=1)
    places = np.arange(2 * REACH + 1) + INNER[1]

    def mean(first: int, last: int) -> NDArray[np.float32]:
        return np.asarray((sums[:, places + last + 1] - sums[:, places + first]) / (last - first + 1))

    sides = np.square(mean(-INNER[1], -INNER[0]) - mean(*OUTER)).sum(axis=2)
    steps = np.square(profiles[:, places + NEAR] - profiles[:, places - NEAR]).sum(axis=2)
    return np.asarray((np.minimum(sides, CLEAR**2) * np.minimum(steps, CLEAR**2)) ** (1 / 4), np.float32)


def _totals(price: Floats, joined: NDArray[np.bool_], stride: Floats) -> Floats:
    """For every place of every point the lowest total of a course through it, shape (L, N, K); all less the same for each point.

    Parameters
    ----------
    price : ndarray, shape (L, N, K)
    joined : ndarray of bool, shape (L, N - 1)
        Whether a point hangs together with the next.
    stride : ndarray, shape (L, N - 1)
        Distance to the next point in `STEP_MM`.
    """
    lines, rows, places = price.shape
    edge = len(BAND) // 2
    # forwards and backwards at once, point by point
    both = np.ascontiguousarray(np.stack([price, price[:, ::-1]]).transpose(2, 0, 1, 3), np.float32)
    links = np.stack([joined, joined[:, ::-1]]).transpose(2, 0, 1)[..., None].astype(np.float32)
    steps = np.minimum(0.5 * (BAND * PLACE_MM / (BEND_MM * stride[..., None])) ** 2, LEAP)
    ways = np.stack([steps, steps[:, ::-1]]).transpose(2, 3, 0, 1)[..., None].astype(np.float32)  # (N - 1, band, 2, L, 1)
    carried = np.zeros(both.shape, np.float32)  # lowest total of the rows before, above the lowest of all
    padded = np.full((2, lines, places + 2 * edge), NEVER, np.float32)
    windows = np.moveaxis(np.lib.stride_tricks.sliding_window_view(padded, len(BAND), axis=2), -1, 0)
    ahead = np.empty(windows.shape, np.float32)
    for i in range(1, rows):
        so_far = both[i - 1] + carried[i - 1]
        so_far -= so_far.min(axis=-1, keepdims=True)
        padded[..., edge:-edge] = so_far
        np.add(windows, ways[i - 1], out=ahead)
        np.minimum.reduce(ahead, axis=0, out=so_far)
        np.minimum(so_far, LEAP, out=so_far)
        np.multiply(so_far, links[i - 1], out=carried[i])
    found = carried.transpose(1, 2, 0, 3)
    return np.asarray(price + found[0] + found[1][:, ::-1])
