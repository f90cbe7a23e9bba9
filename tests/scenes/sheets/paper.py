"""A sheet of tissue: what is printed on it, where it is cut, how it lies (creases, curl). Sheet frame: mm, y downwards."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Polygon

from ..mesh import Floats
from .drafted import Drafted

PX_PER_MM = 6  # of the print
RELIEF_PX_PER_MM = 1
FINER = 3
BITS = 4  # of a pixel, in OpenCV's fixed point
DASHES: dict[str, tuple[float, ...]] = {
    "solid": (),
    "long": (9.0, 3.0),
    "short": (4.0, 2.5),
    "dotted": (1.0, 2.0),
    "dash_dot": (9.0, 2.5, 1.0, 2.5),
}
Grey = NDArray[np.float32]


@dataclass(frozen=True)
class Sheet:
    """A sheet as it lies.

    Attributes
    ----------
    corner : ndarray, shape (2,)
        Sheet coordinates of the middle of the rasters' first pixel.
    ink, mask : ndarray
        0 to 1, `PX_PER_MM`.
    relief : ndarray
        Height above the table, mm, `RELIEF_PX_PER_MM`.
    paper : ndarray, shape (N, 2)
        Where the sheet is cut.
    """

    corner: Floats
    ink: Grey
    mask: Grey
    relief: Grey
    paper: Floats


def printed(
    sizes: Sequence[Drafted], styles: Sequence[str], paper: Floats, rng: np.random.Generator, creased: float, curl: float, line_mm: float
) -> Sheet:
    """Print nested sizes (or none, where `styles` is empty) and everything that goes with them, and let the sheet lie."""
    low, high = paper.min(axis=0) - 15, paper.max(axis=0) + 15
    size = np.ceil((high - low) * PX_PER_MM).astype(int)
    ink = np.zeros((size[1], size[0]), np.uint8)
    for piece, style in zip(sizes, styles, strict=False):
        _line(ink, np.vstack([piece.cutting_line, piece.cutting_line[:1]]) - low, style, line_mm)
    for piece, style in zip(sizes, [*styles, *["solid"] * len(sizes)], strict=False):
        for dart in piece.darts:
            _line(ink, _to_the_edge(dart, piece) - low, style, line_mm)
        for notch in piece.notches:
            _line(ink, _tick(notch, piece) - low, "solid", 0.5)
    _markings(ink, sizes[-1], low)
    mask = _cut(paper - low, ink.shape)
    soft_ink, soft_mask = (cv2.GaussianBlur(one, (0, 0), 0.7).astype(np.float32) / np.float32(255) for one in (ink, mask))
    return Sheet(
        low, np.asarray(soft_ink, np.float32), np.asarray(soft_mask, np.float32), _relief(paper, low, high, rng, creased, curl), paper
    )


def _cut(paper: Floats, shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """What the sheet covers. OpenCV's fill takes in half a pixel all round, which is a sixth of that on a raster three times as fine."""
    fine = np.zeros((shape[0] * FINER, shape[1] * FINER), np.uint8)
    corners = np.round((paper * PX_PER_MM * FINER + (FINER - 1) / 2) * 2**BITS).astype(np.int32)
    cv2.fillPoly(fine, [corners.reshape(-1, 1, 2)], 255, cv2.LINE_8, BITS)
    return np.asarray(cv2.resize(fine, shape[::-1], interpolation=cv2.INTER_AREA), np.uint8)


def _to_the_edge(dart: Floats, piece: Drafted) -> Floats:
    """The legs drawn on to the cutting line."""
    reach = piece.allowance * 1.2
    ends = [end + (end - dart[1]) / np.hypot(*(end - dart[1])) * reach for end in (dart[0], dart[2])]
    inside = Polygon(piece.cutting_line)
    legs = [np.array(LineString([dart[1], end]).intersection(inside).coords) for end in ends]
    return np.vstack([legs[0][::-1], legs[1]])


def _tick(notch: Floats, piece: Drafted) -> Floats:
    """A short line square to the edge, inwards."""
    ring = LineString(np.vstack([piece.cutting_line, piece.cutting_line[:1]]))
    at = ring.project(LineString([notch, notch + 1e-6]).centroid)
    one, two = (np.array(ring.interpolate(at + step).coords[0]) for step in (-0.5, 0.5))
    way = np.array([-(two - one)[1], (two - one)[0]])
    ends = [notch + way * sign * 7.0 for sign in (1, -1)]
    inside = Polygon(piece.cutting_line)
    far = max(ends, key=lambda end: LineString([notch, end]).intersection(inside).length)
    return np.array([notch, far])


def _markings(ink: NDArray[np.uint8], piece: Drafted, low: Floats) -> None:
    """Grain line with arrow heads, fold bracket, words."""
    for end, other in (piece.grain, piece.grain[::-1]):
        way = (other - end) / np.hypot(*(other - end))
        aside = np.array([-way[1], way[0]])
        _line(ink, np.array([end + way * 8 + aside * 3, end, end + way * 8 - aside * 3]) - low, "solid", 0.6)
    _line(ink, piece.grain - low, "solid", 0.5)
    if piece.on_fold:
        centre = piece.edges["centre"]
        (x, bottom), (_, top) = centre
        down = (bottom - top) * 0.2
        _line(ink, np.array([[x, top + down], [x + 12, top + down], [x + 12, bottom - down], [x, bottom - down]]) - low, "solid", 0.5)
    x, y = (piece.grain.mean(axis=0) + [16, 0] - low) * PX_PER_MM
    for row, words in enumerate((piece.name.upper(), "CUT 1")):
        cv2.putText(ink, words, (int(x), int(y + row * 110)), cv2.FONT_HERSHEY_SIMPLEX, 2.6, 200, 4, cv2.LINE_AA)


def _line(ink: NDArray[np.uint8], points: Floats, style: str, wide_mm: float) -> None:
    wide = max(1, round(wide_mm * PX_PER_MM))
    if not DASHES[style]:
        cv2.polylines(ink, [_fixed(points)], False, 230, wide, cv2.LINE_AA, BITS)
        return
    path, at, on, dashes, i = LineString(points), 0.0, True, DASHES[style], 0
    while at < path.length:
        end = min(at + dashes[i % len(dashes)], path.length)
        if on:
            stops = np.linspace(at, end, max(2, int((end - at) / 0.5)))
            cv2.polylines(ink, [_fixed(np.array([path.interpolate(s).coords[0] for s in stops]))], False, 230, wide, cv2.LINE_AA, BITS)
        at, on, i = end, not on, i + 1


def _fixed(points: Floats) -> NDArray[np.int32]:
    return np.asarray(np.round(points * PX_PER_MM * 2**BITS), np.int32).reshape(-1, 1, 2)


def _relief(paper: Floats, low: Floats, high: Floats, rng: np.random.Generator, creased: float, curl: float) -> Grey:
    """Creases of the packet (sharp ridges and valleys on a grid), waves, and edges that curl up."""
    width, height = (int(np.ceil(v)) * RELIEF_PX_PER_MM for v in high - low)
    y, x = np.mgrid[:height, :width].astype(np.float32) / RELIEF_PX_PER_MM
    z = np.zeros((height, width), np.float32)
    for axis, far in ((x, width), (y, height)):
        at = rng.uniform(20, 120)
        while at < far:
            lean = (y if axis is x else x) * rng.normal(0, 0.004)
            z += np.float32(creased * rng.uniform(0.3, 1.0)) * np.exp(-np.abs(axis - at - lean) / rng.uniform(2.5, 5))
            at += rng.uniform(90, 140)
    noise = cv2.resize(rng.normal(0, 1, (max(3, height // 60), max(3, width // 60))).astype(np.float32), (width, height))
    z += np.float32(0.25 * creased) * np.abs(noise)
    inside = np.zeros((height, width), np.uint8)
    cv2.fillPoly(inside, [np.asarray(np.round((paper - low) * RELIEF_PX_PER_MM), np.int32).reshape(-1, 1, 2)], 1)
    depth = cv2.distanceTransform(inside, cv2.DIST_L2, 5) / RELIEF_PX_PER_MM
    lift = cv2.resize(rng.uniform(0, 1, (5, 5)).astype(np.float32) ** 2, (width, height))
    z += np.float32(curl) * lift * np.clip(1 - depth / 30, 0, 1) ** 2
    return np.asarray(cv2.GaussianBlur(z, (0, 0), 1.0), np.float32)
