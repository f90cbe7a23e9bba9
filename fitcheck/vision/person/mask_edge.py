"""The picture's own edge nearest to the coarse mask's border, each row for itself: for stretches too short to follow a course along."""

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.vision.trace.outline_path import EDGE_SD_MM, EDGE_SD_PX, between_samples

SEARCH_MM = 10.0  # to either side of the mask's border: it strays by up to about that much
MASK_SD_MM = 20.0  # of the mask's border itself, where the picture shows no edge beside it
ROWS = 2  # so many rows above and below are averaged along the border's slope
SLOPE_ROWS = 12  # above and below, from which the border's slope is taken (estimate)
LEAST_REACH_PX = 4.0  # to either side, however small she is in the picture
SAMPLE_PX, BLUR, BLUR_WINDOW = 0.5, 2.0, 17  # of a profile: between samples; its blur, in samples
BEYOND_PX = 3  # of it beyond the reach, for the blur
STEP_OVER_SLOPE = 4.0  # height of a step blurred like this over its steepest slope from sample to sample, nearly
LIKELY_SHARE = 0.7  # of the reach: standard deviation of the edge about the mask's border, as a weight (estimate)
RIVALS_COUNT = 0.5  # of the spread of other edges, by strength squared, in the doubt (estimate)
STRAY_PX_PER_ROW = 2  # steeper than this the border is another one
CLEAR_EDGE = 12.0  # colour step in grey levels
OUTER_SHARE = 0.5  # the outermost edge at least this strong against the strongest is the outline; inner ones are seams and shade


def edges_beside_mask(
    rgb: NDArray[np.uint8],
    mask: NDArray[np.bool_],
    rows: Floats,
    borders: NDArray[np.intp],
    outwards: NDArray[np.intp],
    px_per_mm: float,
) -> tuple[Floats, Floats]:
    """The picture's own edges nearest to the mask's borders.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    mask : ndarray of bool, shape (H, W)
    rows : ndarray, shape (M,)
    borders : ndarray of int, shape (M,)
        Column of the mask's border in each row.
    outwards : ndarray of int, shape (M,)
        1 where the background lies to the right of it, -1 to the left.
    px_per_mm : float

    Returns
    -------
    columns, standard uncertainties : ndarray, shape (M,)
        Of the mask's own border, with a wide doubt, where no clear edge lies beside it.
    """
    slopes = np.array([_slope(mask, round(row), int(border)) for row, border in zip(rows, borders, strict=True)])
    # half a pixel outwards: the mask's border pixel still belongs to her
    middle = borders + 0.5 * outwards
    reach = max(LEAST_REACH_PX, SEARCH_MM * px_per_mm)
    offset = np.arange(-reach - BEYOND_PX, reach + BEYOND_PX + SAMPLE_PX / 2, SAMPLE_PX)  # positive outwards
    lines = np.arange(-ROWS, ROWS + 1)
    x = middle[:, None, None] + offset * outwards[:, None, None] + lines[:, None] * slopes[:, None, None]
    y = np.broadcast_to(rows[:, None, None] + lines[:, None], x.shape)
    flat = (-1, len(offset))
    colours = cv2.remap(
        rgb, x.reshape(flat).astype(np.float32), y.reshape(flat).astype(np.float32), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    means = colours.reshape(len(rows), len(lines), len(offset), 3).astype(np.float32).mean(axis=1)
    profiles = cv2.GaussianBlur(means, (BLUR_WINDOW, 1), sigmaX=BLUR)
    steps = np.linalg.norm(np.gradient(profiles, axis=1), axis=2) * STEP_OVER_SLOPE
    likely = np.where(np.abs(offset) <= reach, steps * np.exp(-0.5 * (offset / (LIKELY_SHARE * reach)) ** 2), 0.0)
    peaks = np.zeros(likely.shape, bool)
    peaks[:, 1:-1] = (likely[:, 1:-1] >= likely[:, :-2]) & (likely[:, 1:-1] > likely[:, 2:])
    peaks &= likely >= OUTER_SHARE * likely.max(axis=1, keepdims=True)
    best = np.where(peaks.any(axis=1), len(offset) - 1 - peaks[:, ::-1].argmax(axis=1), 1)  # the outermost
    here = np.take_along_axis(steps, best[:, None], axis=1)[:, 0]
    # other edges nearly as strong: the outline may be one of them
    rivals = np.where(peaks, steps / np.maximum(here, 1e-9)[:, None], 0.0) ** 2
    doubt = np.sqrt((rivals * (offset - offset[best][:, None]) ** 2).sum(axis=1) / np.maximum(rivals.sum(axis=1), 1e-9))
    sd = np.hypot(np.hypot(EDGE_SD_MM * px_per_mm, EDGE_SD_PX), RIVALS_COUNT * doubt)
    clear = peaks.any(axis=1) & (here >= CLEAR_EDGE)
    found = middle + (offset[best] + SAMPLE_PX * between_samples(steps, best)) * outwards
    return np.where(clear, found, middle), np.where(clear, sd, np.hypot(MASK_SD_MM * px_per_mm, 1.0))


def _slope(mask: NDArray[np.bool_], row: int, border: int) -> float:
    """Sideways pixels per row of the mask's border: from the nearest change of the mask some rows above and below."""
    found = []
    for y in (row - SLOPE_ROWS, row + SLOPE_ROWS):
        if 0 <= y < mask.shape[0]:
            changes = np.flatnonzero(np.diff(mask[y].astype(np.int8))) + 0.5
            if len(changes):
                nearest = float(changes[np.abs(changes - border).argmin()])
                if abs(nearest - border) < STRAY_PX_PER_ROW * SLOPE_ROWS:
                    found.append((y, nearest))
    return (found[1][1] - found[0][1]) / (found[1][0] - found[0][0]) if len(found) == 2 else 0.0
