"""The likeliest course of an outline down a picture: edge evidence of all rows weighed together by dynamic programming.

A single row may show a pen line or the rim of a shade more strongly than the outline itself. The outline, however, runs on from row to
row, has other colours on its two sides (a pen line has cloth on both), and has no other edge outside it. Every row offers places
around the coarse border; each has a price: little evidence, far from the border, another edge farther out. The course with the
lowest total, a step from row to row costing by its square (Viterbi 1967; both ways, so that every place's best total is known), is the
outline, and how the totals rise around it tells how surely.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats

STEP_MM = 5.0  # between rows
PLACE_MM, REACH = 1.0, 18  # between places of a row, and how many to either side of the smoothed border
NEAR, INNER, OUTER = 1, (3, 8), (1, 5)  # places from the edge: of the step itself; of the colours inside (past a pen line) and outside
CLEAR, FAINT = 25.0, 2.0  # colour steps in grey levels: as good as can be; as noise makes
BORDER_SD_MM, STRAY_SD_MM, STRAYING = 6.0, 20.0, 0.3  # of the border: usually; where the mask goes astray, and how often it does
OUTSIDE, APART = 0.3, 3  # price of an edge farther out as a share of its evidence, if so many places away
BEND_MM, LEAP = 1.4, 8.0  # usual change of the distance to the smoothed border from row to row; dearest step
LINES = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])  # of the row step, averaged along the border's slope
BAND = np.arange(-6, 7)  # places a step may go without a leap


@dataclass(frozen=True, slots=True)
class Path:
    """An outline, one value a row.

    Attributes
    ----------
    columns_px, slopes : ndarray
        To half a place; sideways pixels per row of the border it follows.
    spread_mm : ndarray
        Of the places nearly as good.
    clearness : ndarray
        1 where the edge is as clear as can be, 0 where nothing shows.
    away_mm : ndarray
        From the coarse border, + outwards.
    """

    columns_px: Floats
    slopes: Floats
    spread_mm: Floats
    clearness: Floats
    away_mm: Floats


def follow(rgb: NDArray[np.uint8], rows: Floats, smooth: Floats, border: Floats, whole: NDArray[np.intp], px_per_mm: float) -> Path:
    """Follow the left and the right outline.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    rows : ndarray, shape (N,)
        Increasing.
    smooth : ndarray, shape (2, N)
        Columns of the smoothed coarse border at image left and right, around which the outline is looked for.
    border : ndarray, shape (2, N)
        Columns of the border itself, from the smoothed one.
    whole : ndarray of int, shape (2, N)
        Rows with the same number hang together; 0 where the outline is hidden.
    px_per_mm : float

    Returns
    -------
    Path
        All of shape (2, N); where hidden, without meaning.
    """
    outwards = np.array([[-1.0], [1.0]])
    step = float(np.median(np.diff(rows))) if len(rows) > 1 else STEP_MM * px_per_mm
    joined = (whole[:, 1:] == whole[:, :-1]) & (whole[:, 1:] > 0)
    rise = np.diff(rows)
    slopes = np.zeros(smooth.shape)
    slope = np.where(joined, np.diff(smooth, axis=1) / np.maximum(rise, 1e-9), 0.0)
    slopes[:, 1:] += slope
    slopes[:, :-1] += slope
    slopes /= np.maximum(np.pad(joined, ((0, 0), (1, 0))).astype(int) + np.pad(joined, ((0, 0), (0, 1))), 1)
    shown = whole > 0
    evidence = np.zeros((*smooth.shape, 2 * REACH + 1))
    colour_step = np.zeros(evidence.shape)
    if shown.any():
        at = np.broadcast_to(rows, smooth.shape)[shown]
        out = np.broadcast_to(outwards, smooth.shape)[shown]
        profiles = _profiles(rgb, at, smooth[shown], slopes[shown], out, step, px_per_mm)
        colour_step[shown] = _steps(profiles)
    evidence = np.log1p((colour_step / FAINT) ** 2)
    offset = PLACE_MM * np.arange(-REACH, REACH + 1)
    astray = offset - (border * outwards / px_per_mm)[..., None]
    usual, stray = ((share, sd) for share, sd in ((1 - STRAYING, BORDER_SD_MM), (STRAYING, STRAY_SD_MM)))
    likely = sum(share * np.exp(-0.5 * (astray / sd) ** 2) for share, sd in (usual, stray))
    beyond = np.maximum.accumulate(evidence[..., ::-1], axis=-1)[..., ::-1]
    price = OUTSIDE * np.pad(beyond[..., APART:], ((0, 0), (0, 0), (0, APART))) - evidence - np.log(likely + 1e-9)
    totals = _totals(price, joined, np.maximum(rise / (STEP_MM * px_per_mm), 0.2))
    best = totals.argmin(axis=-1)
    share = np.exp(totals.min(axis=-1, keepdims=True) - totals)
    spread = np.sqrt((share * (offset - offset[best][..., None]) ** 2).sum(-1) / share.sum(-1))
    columns = smooth + offset[best] * px_per_mm * outwards
    clear = np.take_along_axis(colour_step, best[..., None], -1)[..., 0] / CLEAR
    return Path(columns, slopes, spread, clear, np.take_along_axis(astray, best[..., None], -1)[..., 0])


def _profiles(
    rgb: NDArray[np.uint8], rows: Floats, columns: Floats, slopes: Floats, outwards: Floats, step: float, px_per_mm: float
) -> NDArray[np.float32]:
    """Colours across the border from the inside outwards, averaged along it, shape (M, places, 3); wider than the places on offer."""
    wide = REACH + INNER[1]
    offset = PLACE_MM * px_per_mm * np.arange(-wide, REACH + OUTER[1] + 1)
    along = step * LINES
    x = columns[:, None, None] + offset * outwards[:, None, None] + along[:, None] * slopes[:, None, None]
    y = np.broadcast_to(rows[:, None, None] + along[:, None], x.shape)
    flat = (-1, len(offset))
    colours = cv2.remap(
        rgb, x.reshape(flat).astype(np.float32), y.reshape(flat).astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    lines = colours.reshape(len(rows), len(LINES), -1)
    return np.asarray(lines.mean(axis=1, dtype=np.float32).reshape(len(rows), len(offset), 3))


def _steps(profiles: NDArray[np.float32]) -> NDArray[np.float32]:
    """Colour step at each place, shape (M, 2 REACH + 1): geometric mean of the step itself and that between the colours on both sides."""
    sums = np.cumsum(np.pad(profiles, ((0, 0), (1, 0), (0, 0))), axis=1)
    places = np.arange(2 * REACH + 1) + INNER[1]

    def mean(first: int, last: int) -> NDArray[np.float32]:
        return np.asarray((sums[:, places + last + 1] - sums[:, places + first]) / (last - first + 1))

    sides = np.square(mean(-INNER[1], -INNER[0]) - mean(*OUTER)).sum(axis=2)
    steps = np.square(profiles[:, places + NEAR] - profiles[:, places - NEAR]).sum(axis=2)
    return np.asarray(np.minimum((sides * steps) ** 0.25, CLEAR), np.float32)


def _totals(price: Floats, joined: NDArray[np.bool_], stride: Floats) -> Floats:
    """For every place of every row the lowest total of a course through it, shape (2, N, K).

    Parameters
    ----------
    price : ndarray, shape (2, N, K)
    joined : ndarray of bool, shape (2, N - 1)
        Whether a row hangs together with the next.
    stride : ndarray, shape (N - 1,)
        Distance to the next row in `STEP_MM`.
    """
    rows, places, edge = price.shape[1], price.shape[2], len(BAND) // 2
    # downwards and upwards at once, row by row
    both = np.ascontiguousarray(np.stack([price, price[:, ::-1]]).transpose(2, 0, 1, 3), np.float32)
    links = np.stack([joined, joined[:, ::-1]]).transpose(2, 0, 1)[..., None].astype(np.float32)
    steps = np.minimum(0.5 * (BAND * PLACE_MM / (BEND_MM * stride[:, None])) ** 2, LEAP).astype(np.float32)
    ways = np.stack([steps, steps[::-1]], axis=2)[..., None, None]  # (N - 1, band, 2, 1, 1)
    carried = np.zeros(both.shape, np.float32)  # lowest total of the rows before, above the lowest of all
    padded = np.full((2, 2, places + 2 * edge), 1e9, np.float32)
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
