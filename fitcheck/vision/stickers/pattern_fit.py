"""Fit one square sticker to the picture: its printed pattern, shifted, sheared and bent until it matches the pixels.

ArUco finds corners; a sticker bent over a neck or seen almost edge-on needs more. The whole known pattern is fitted by
Gauss-Newton (Lucas & Kanade 1981; Baker & Matthews 2004 for the family of methods) with second-order terms for the bend,
which also hold what perspective there is over 31 mm. The fit gives the centre of the bent sticker, its covariance,
and how well the pattern correlates: a check on every id ArUco reads.
"""

import math
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.aruco import white_cells
from fitcheck.core.normal import share_below
from fitcheck.core.points import POINT_BORDER_MM, POINT_MARKER_MM
from fitcheck.core.records import Floats

HALF_MM = POINT_MARKER_MM / 2 + POINT_BORDER_MM  # half a side of the paper

BLUR_PX = 0.7  # of a sharp photo in its own pixels (lens, demosaicing, JPEG)
# A sticker's middle sags against its corners by a few mm at most; in terms of u^2 with u in half sticker sides.
BEND_PRIOR = 0.15
MAX_STEPS = 12  # of Gauss-Newton; it has settled before, or does not (estimate)
# Unknowns of a fit: `StickerFit.shape` row by row, then light: its level, contrast and slopes.
MOVES, UNKNOWNS = 12, 16
_BENDS = [3, 4, 5, 9, 10, 11]  # of the moves
HELD = 1e-6  # of every unknown, so that there is always an answer
SCHARR = 32  # of that mask: what it makes of a slope of 1
TELLING_STEPS, LATE_GAIN = 3, 0.15  # after so many steps a match is nearly final: from step n on it rises by less than this / n (on scenes)
MOST_MOVE, LEAST_MOVE = 0.15, 0.02  # of a step: of the sticker's size; below, in pixels, the fit is done (estimates)
STRAYS = 2.0  # sds of the residuals from which a pixel counts less
LEAST_SPREAD = 1.0  # of the residuals, grey levels
SD_OF_MEDIAN = 1.4826  # of normally distributed values, over the median of their sizes
REACH, RIM_PX, SMALLEST_PX = 1.6, 6, 8  # of the neighbourhood looked at: in half sticker sides, and in pixels beside; its least side
LEAST_BLUR_MM, MOST_BLUR_MM = 0.3, 6.0  # that patterns are drawn with: less than a cell's rim tells nothing, more hides every cell
BLUR_LEVELS = (-1, 2)  # powers of 2 mm in which all patterns are kept
_AXIS = np.linspace(-15.0, 15.0, 25)  # mm from the middle: points of the grid along each side, its rim left out
# where the six cells of a row begin and end, mm from the middle; the paper goes on on both sides
_CELL_EDGES = np.concatenate([[-np.inf], np.linspace(-POINT_MARKER_MM / 2, POINT_MARKER_MM / 2, 7), [np.inf]])
_U, _V = (a.ravel() for a in np.meshgrid(_AXIS / HALF_MM, _AXIS[::-1] / HALF_MM))  # v up, both -1..1 at the paper's edge
_BASIS = np.stack([np.ones_like(_U), _U, _V, _U * _U, _U * _V, _V * _V])
_OUTLINE = np.maximum(np.abs(_U), np.abs(_V)) * HALF_MM > POINT_MARKER_MM / 3  # the black frame and the paper round it, same for every id
_OUTLINE_BASIS = _BASIS[:, _OUTLINE]
_DIAGONAL = np.arange(UNKNOWNS)
OUTLINE_ONLY = -1  # in place of an id
NOISE = 12.0  # grey levels: what pattern and picture may differ by without a move being the reason
_LIGHT = np.linalg.qr(_BASIS[:3].T)[0]  # a mean and two slopes, as unit vectors on the grid


@dataclass(frozen=True, slots=True)
class StickerFit:
    """A sticker as fitted to the picture.

    Attributes
    ----------
    number : int
        ArUco id.
    shape : ndarray, shape (2, 6)
        Picture point of the sticker point (u, v), u to the sticker's right, v up, -1..1 at the paper's edge:
        shape @ [1, u, v, u^2, uv, v^2].
    centre_sd_px : float
        Of the centre, per axis (the larger), from the fit's own residuals.
    match : float
        Correlation of pattern and pixels, -1..1.
    contrast : float
        Grey levels between black and white.
    """

    number: int
    shape: Floats
    centre_sd_px: float
    match: float
    contrast: float

    def at(self, points_mm: Floats) -> Floats:
        """Picture points of sticker points (N, 2), mm, x right, y up from the centre."""
        u, v = np.asarray(points_mm, dtype=float).T / HALF_MM
        return np.asarray((self.shape @ np.stack([np.ones_like(u), u, v, u * u, u * v, v * v])).T)

    @property
    def centre_px(self) -> Floats:
        """The middle of the bent sticker."""
        return self.shape[:, 0]

    @property
    def corners_px(self) -> Floats:
        """The paper's four corners in ArUco's order, shape (4, 2)."""
        return self.at(np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * HALF_MM)

    @property
    def facing(self) -> float:
        """How squarely it faces the camera: short over long axis of its picture, 0..1."""
        short, long = sorted(np.linalg.svd(self.shape[:, 1:3], compute_uv=False))
        return float(short / long) if long > 0 else 0.0


def shape_from_corners(corners_px: Floats) -> Floats:
    """Starting shape (2, 6) from the black square's corners (4, 2) in ArUco's order."""
    r = POINT_MARKER_MM / 2 / HALF_MM
    top_left, top_right, low_right, low_left = corners_px
    right = (top_right + low_right - top_left - low_left) / 4 / r
    up = (top_left + top_right - low_left - low_right) / 4 / r
    twist = (top_right + low_left - top_left - low_right) / 4 / r**2
    return np.stack([corners_px.mean(0), right, up, np.zeros(2), twist, np.zeros(2)], axis=1)


def turned(shape: Floats, quarters: int) -> Floats:
    """The same sticker with its pattern turned by quarter turns: which way is up is not known from a bare square."""
    for _ in range(quarters % 4):
        c, u, v, uu, uv, vv = shape.T
        shape = np.stack([c, v, -u, vv, -uv, uu], axis=1)
    return shape


def matches(gray: NDArray[Any], shape: Floats, numbers: tuple[int, ...]) -> Floats:
    """Correlation of every pattern in `numbers`, in each quarter turn, with the pixels near `shape`; shape (len(numbers), 4).

    What a shift, shear or bend of about a pixel would change is left out of the comparison (to first order, the same for all
    patterns), and so is light from one side: cells two pixels high are missed by less. Column k belongs to `turned(shape, k)`.
    """
    left_top, patch = _patch(gray, shape)
    shape = shape.copy()
    shape[:, 0] -= left_top
    levels = np.clip(np.round(np.log2(_blur_mm(shape))), *BLUR_LEVELS)
    bank, squares = _bank(numbers, float(levels[0]), float(levels[1]))
    there, dx, dy = _sample(patch, shape)
    there, moves = _without_light(there), _without_light(np.concatenate([dx * _BASIS, dy * _BASIS]))
    inverse = np.linalg.inv(moves @ moves.T + NOISE**2 * np.eye(MOVES))
    there_left = there - (moves @ there) @ inverse @ moves
    explained = bank @ moves.T
    norms = squares - ((explained @ inverse) * explained).sum(axis=1)
    return np.asarray((bank @ there_left / np.sqrt(np.maximum(norms * (there @ there_left), 1e-9))).reshape(len(numbers), 4))


def fit_sticker(gray: NDArray[Any], number: int, shape: Floats, blur_px: float = BLUR_PX, least: float = -1.0) -> StickerFit:
    """Fit the pattern `number` to the picture.

    Parameters
    ----------
    gray : ndarray of uint8 or float32, shape (H, W)
    number : int
        ArUco id, or OUTLINE_ONLY to fit the frame that all stickers share.
    shape : ndarray, shape (2, 6)
        Start, right to a few mm (`shape_from_corners`).
    blur_px : float
        Blur of the picture: a picture blurred on purpose lets the fit start from further away.
    least : float
        The match that is of use: a fit that will not reach it is given up early.

    Returns
    -------
    StickerFit
    """
    left_top, patch = _patch(gray, shape)
    shape = shape.copy()
    shape[:, 0] -= left_top
    basis, pattern = _BASIS, _pattern(max(number, 0), _blur_mm(shape, blur_px))
    if number == OUTLINE_ONLY:
        basis, pattern = _OUTLINE_BASIS, pattern[_OUTLINE]
    light = np.stack([np.ones(basis.shape[1]), pattern, basis[1], basis[2]])  # the sticker may lie half in shade
    lit = np.linalg.solve(light @ light.T + 1e-9 * np.eye(len(light)), light)
    jacobian = np.empty((UNKNOWNS, basis.shape[1]))
    jacobian[MOVES:] = -light
    pattern = pattern - pattern.mean()
    normal, spread, contrast = np.eye(UNKNOWNS), 1.0, 0.0
    size_px = float(np.sqrt(abs(np.linalg.det(shape[:, 1:3])))) + 1.0
    for steps in range(MAX_STEPS):
        there, dx, dy = _sample(patch, shape, basis)
        coefficients = lit @ there
        contrast = float(coefficients[1])
        if steps >= TELLING_STEPS and _correlation(there, pattern) < least - LATE_GAIN / steps:
            break
        residual = there - coefficients @ light
        sizes = np.abs(residual)
        sizes.partition(len(sizes) // 2)
        spread = max(SD_OF_MEDIAN * float(sizes[len(sizes) // 2]), LEAST_SPREAD)
        weight = 1 / (1 + (residual / (STRAYS * spread)) ** 2)  # a strap, pin or another sticker may cover part of it
        np.multiply(dx, basis, out=jacobian[: MOVES // 2])
        np.multiply(dy, basis, out=jacobian[MOVES // 2 : MOVES])
        weighted = jacobian * weight
        normal = weighted @ jacobian.T
        straight = (spread / (BEND_PRIOR * size_px)) ** 2
        normal[_DIAGONAL, _DIAGONAL] += HELD
        normal[_BENDS, _BENDS] += straight
        pull = weighted @ residual
        pull[_BENDS] += (HELD + straight) * shape.ravel()[_BENDS]
        step = -cv2.solve(normal, pull, flags=cv2.DECOMP_CHOLESKY)[1][:MOVES].reshape(2, -1)
        largest = float(np.abs(step).max())
        shape += min(1.0, MOST_MOVE * size_px / max(largest, 1e-9)) * step
        if largest < LEAST_MOVE:
            break
    correlation = _correlation(_sample(patch, shape, basis)[0], pattern)
    shape[:, 0] += left_top
    inverse = np.linalg.inv(normal)
    across, down, both = inverse[0, 0], inverse[MOVES // 2, MOVES // 2], inverse[0, MOVES // 2]  # of the centre
    largest = (across + down) / 2 + np.hypot((across - down) / 2, both)  # eigenvalue
    return StickerFit(number, shape, spread * float(np.sqrt(max(largest, 0.0))), correlation, contrast)


def _patch(gray: NDArray[Any], shape: Floats) -> tuple[Floats, NDArray[np.float32]]:
    """The neighbourhood of a sticker: its left top corner, and its grey levels with their two derivatives, shape (h, w, 3)."""
    reach = REACH * np.abs(shape[:, 1:]).sum(axis=1) + RIM_PX
    low = np.clip(np.floor(shape[:, 0] - reach), 0, None).astype(int)
    high = np.ceil(shape[:, 0] + reach).astype(int) + 1
    low = np.minimum(low, [max(gray.shape[1] - SMALLEST_PX, 0), max(gray.shape[0] - SMALLEST_PX, 0)])
    patch = gray[low[1] : max(high[1], low[1] + SMALLEST_PX), low[0] : max(high[0], low[0] + SMALLEST_PX)].astype(np.float32)
    slopes = (cv2.Scharr(patch, cv2.CV_32F, *way, scale=1 / SCHARR) for way in ((1, 0), (0, 1)))
    return low.astype(float), np.asarray(cv2.merge([patch, *slopes]))


def _sample(patch: NDArray[np.float32], shape: Floats, basis: Floats = _BASIS) -> Floats:
    """Grey level and derivatives at the points of a sticker, shape (3, grid)."""
    x, y = (shape @ basis).astype(np.float32)
    return np.asarray(cv2.remap(patch, x[None], y[None], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[0].T.astype(float))


def _correlation(a: Floats, b: Floats) -> float:
    """Of values `a` with a pattern `b` whose mean is 0."""
    a = a - a.mean()
    norm = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / norm if norm > 0 else 0.0


def _blur_mm(shape: Floats, blur_px: float = BLUR_PX) -> Floats:
    """How far the photo's own blur reaches along the sticker's two directions; far where it is foreshortened."""
    (a, b), (c, d) = shape[:, 1:3].tolist()
    size = abs(a * d - b * c)
    if not size:
        return np.ones(2)
    per_mm = blur_px * HALF_MM / size  # by the rows of the inverse of these two by two
    return np.asarray(np.clip([math.hypot(b, d) * per_mm, math.hypot(a, c) * per_mm], LEAST_BLUR_MM, MOST_BLUR_MM))


def _pattern(number: int, sigma_mm: Floats) -> Floats:
    """Pattern values -0.5 black .. 0.5 white on the fitting grid, blurred: every cell counts as far as the blur reaches into it."""
    along_u, along_v = (_cells_along(sigma) for sigma in sigma_mm.tolist())
    return np.asarray((along_v @ white_cells(number) @ along_u.T).ravel() - 0.5)


@lru_cache(maxsize=64)  # several ids are tried on one square
def _cells_along(sigma_mm: float) -> Floats:
    """Share of each of the eight cells of a row in each point along it, (25, 8)."""
    return np.asarray(np.diff(share_below((_CELL_EDGES - _AXIS[:, None]) / sigma_mm), axis=1))


@cache
def _bank(numbers: tuple[int, ...], blur_u: float, blur_v: float) -> tuple[Floats, Floats]:
    """All patterns in all quarter turns, light left out, shape (4 * len(numbers), grid); and the sum of the squares of each."""
    size = len(_AXIS)
    rows = []
    for number in numbers:
        for quarters in range(4):
            along = np.array([blur_u, blur_v]) if quarters % 2 == 0 else np.array([blur_v, blur_u])
            pattern = np.rot90(_pattern(number, 2.0**along).reshape(size, size), quarters).ravel()
            rows.append(pattern)
    bank = _without_light(np.stack(rows))
    return bank, (bank * bank).sum(axis=1)


def _without_light(values: Floats) -> Floats:
    """Values on the grid less their mean and their slope."""
    return np.asarray(values - (values @ _LIGHT) @ _LIGHT.T)
