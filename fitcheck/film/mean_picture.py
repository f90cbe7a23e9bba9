"""One picture of several: she sways between them, the room does not."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats

BANDS = 8  # of her height, each of which tells how far she has swayed there
FEWEST_IN_BAND = 200  # pixels that show something, at the scale at which motion is looked for
SHOWS_LEVELS = 6.0  # grey levels a pixel: flatter cloth tells no motion (estimate)
LONG_SIDE_PX = 720  # at which motion is looked for: the median over a band is then good to a twentieth of a pixel of it
FEATHER_SHARE = 0.01  # of the long side: over so much the motion dies away outside her
STILL = np.zeros((2, 2))  # lines of no sway
LARGEST_SWAY_SHARE = 0.02  # of the long side: more is a step, and such a picture is left out


@dataclass(frozen=True, slots=True)
class Mean:
    """What several pictures of one stand became.

    Attributes
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    sd_px : float
        Standard uncertainty, per axis, of where things on her are in it.
    pictures : int
        How many it is of.
    """

    rgb: NDArray[np.uint8]
    sd_px: float
    pictures: int


def mean_picture(pictures: Sequence[NDArray[np.uint8]], mask: NDArray[np.bool_]) -> tuple[NDArray[np.uint8], float]:
    """The mean of pictures of one stand, each brought to where she stood on the median.

    Noise, compression and the sway of her body then average; the card, which hangs still, is a plain mean. She sways like a
    pendulum: how far each height moved is a straight line in height, found from the optical flow (DIS) of what shows on her.

    Parameters
    ----------
    pictures : sequence of ndarray of uint8, shape (H, W, 3)
        One or more; the first is the one that `mask` belongs to.
    mask : ndarray of bool, shape (H, W)
        Where she stands in it.

    Returns
    -------
    picture : ndarray of uint8, shape (H, W, 3)
    sd_px : float
        Standard uncertainty, per axis, of where things on her are in it: what the line leaves over, in the mean of so many pictures.
    """
    first = pictures[0]
    if len(pictures) == 1 or not mask.any():
        return first, 0.0
    by = min(1.0, LONG_SIDE_PX / max(first.shape[:2]))
    her = _her(_grey(first, by), mask, by)
    swayed, left_over = zip(*((STILL, 0.0) if other is first else _sway(her, _grey(other, by), by) for other in pictures), strict=True)
    lines = np.array(swayed)  # shape (n, 2, 2): pixels, x and y, each as value at her middle and slope down her height
    rows = _rows(mask)
    reach = np.abs(_shift(lines, rows)).max(axis=(1, 2))
    kept = np.flatnonzero(reach < LARGEST_SWAY_SHARE * max(first.shape[:2])).tolist()
    middle = np.median(lines[kept], axis=0)
    soft = _soft(mask)
    picture = _mean([pictures[k] for k in kept])  # the room
    box, every_row = _box(soft), np.arange(first.shape[0], dtype=float)
    part = [_moved(pictures[k], _shift((lines[k] - middle)[None], every_row, rows)[0], soft, box) for k in kept]
    picture[box] = _mean(part)
    spread = float(np.sqrt(np.mean(np.square([left_over[k] for k in kept]))))
    return np.clip(np.round(picture), 0, 255).astype(np.uint8), spread / np.sqrt(len(kept))


def _mean(pictures: Sequence[NDArray[np.uint8]]) -> NDArray[np.float32]:
    total = np.zeros(pictures[0].shape, np.float32)
    for picture in pictures:
        cv2.accumulate(np.ascontiguousarray(picture), total)
    return total / np.float32(len(pictures))


@dataclass(frozen=True)
class _Her:
    """She in the first picture, made small.

    Attributes
    ----------
    grey : ndarray of uint8, shape (h, w)
    bands : tuple of (slice, ndarray of bool)
        Rows of each band of her that shows enough, and where it shows.
    heights : ndarray, shape (bands,)
        Of the bands' middles, from -0.5 at her head to 0.5 at her feet.
    """

    grey: NDArray[np.uint8]
    bands: tuple[tuple[slice, NDArray[np.bool_]], ...]
    heights: Floats


def _her(grey: NDArray[np.uint8], mask: NDArray[np.bool_], by: float) -> _Her:
    on_her = cv2.erode(cv2.resize(mask.astype(np.uint8), grey.shape[::-1], interpolation=cv2.INTER_NEAREST), np.ones((5, 5), np.uint8)) > 0
    gx, gy = (cv2.Sobel(grey, cv2.CV_32F, dx, 1 - dx, scale=1 / 8) for dx in (1, 0))
    shows = on_her & (np.hypot(gx, gy) > SHOWS_LEVELS)
    bands, heights, full = [], [], _rows(mask)
    for band in np.array_split(np.flatnonzero(on_her.any(axis=1)), BANDS):
        rows = slice(band[0], band[-1] + 1) if len(band) else slice(0, 0)
        if shows[rows].sum() >= FEWEST_IN_BAND * by:
            bands.append((rows, shows[rows]))
            heights.append((float(band.mean()) / by - full.mean()) / max(float(np.ptp(full)), 1.0))
    return _Her(grey, tuple(bands), np.array(heights))


def _sway(her: _Her, other: NDArray[np.uint8], by: float) -> tuple[Floats, float]:
    """How she moved from the first picture to another: a line for x and one for y; and what it leaves over (rms), in pixels."""
    if len(her.bands) < 2:
        return STILL, 0.0
    flow = cv2.DISOpticalFlow.create(cv2.DISOPTICAL_FLOW_PRESET_FAST).calc(her.grey, other, np.zeros((*other.shape, 2), np.float32)) / by
    moved = np.array([np.median(flow[rows][shows], axis=0) for rows, shows in her.bands])
    weights = np.sqrt([shows.sum() for _, shows in her.bands])
    design = np.column_stack([np.ones_like(her.heights), her.heights])
    line = np.linalg.lstsq(design * weights[:, None], moved * weights[:, None], rcond=None)[0].T
    rest = moved - design @ line.T
    return np.asarray(line), float(np.sqrt(np.average((rest**2).mean(axis=1), weights=weights)))


def _grey(picture: NDArray[np.uint8], by: float) -> NDArray[np.uint8]:
    small = cv2.resize(picture, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.cvtColor(small, cv2.COLOR_BGR2GRAY), np.uint8)


def _rows(mask: NDArray[np.bool_]) -> Floats:
    """The rows that she takes up."""
    return np.flatnonzero(mask.any(axis=1)).astype(float)


def _shift(lines: Floats, rows: Floats, of: Floats | None = None) -> Floats:
    """Pixels moved at some rows, shape (n, 2, rows), by lines over the rows `of` her (usually the same); beyond her ends as there."""
    of = rows if of is None else of
    at = np.clip((rows - of.mean()) / max(float(np.ptp(of)), 1.0), -0.5, 0.5)
    return np.asarray(lines[:, :, :1] + lines[:, :, 1:] * at)


def _soft(mask: NDArray[np.bool_]) -> NDArray[np.float32]:
    """1 on her and a little beyond, falling to 0."""
    feather = max(3.0, FEATHER_SHARE * max(mask.shape))
    away = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 3)
    return np.asarray(np.clip(2 - away / feather, 0, 1), np.float32)


def _box(soft: NDArray[np.float32]) -> tuple[slice, slice]:
    """Rows and columns that she, and where her motion dies away, take up."""
    rows, columns = (np.flatnonzero(soft.max(axis=axis) > 0) for axis in (1, 0))
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def _moved(picture: NDArray[np.uint8], shift_px: Floats, soft: NDArray[np.float32], box: tuple[slice, slice]) -> NDArray[np.uint8]:
    """The part of a picture that holds her, with every row of her brought back by so many pixels, shape (2, H)."""
    down, across = (at.astype(np.float32) for at in np.ogrid[box])
    dx, dy = shift_px.astype(np.float32)[:, box[0], None]
    return np.asarray(
        cv2.remap(picture, across + soft[box] * dx, down + soft[box] * dy, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), np.uint8
    )
