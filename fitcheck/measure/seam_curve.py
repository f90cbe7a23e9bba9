"""A seam line as a curve in the picture: where it crosses a row, how it leaves its ends, what stickers hide of it."""

from collections.abc import Sequence

import cv2
import numpy as np

from fitcheck.core.polyline import arc_length
from fitcheck.core.records import Floats

UNDER_STICKER_PX = 8.0  # a sticker's border may have been taken for the line so far beside it; estimate
END_LEAST_PX, END_PARTS = 12.0, 3  # the part of a curve that tells in which direction it leaves its end: a third, or so much
ENDS_POINTS, ENDS_RISE_PX = 8, 4.0  # points beside a gap that tell the curve's slope there, if they rise so far at least
WANDER = 0.05  # how far a seam strays where it is bridged, as a share of the length added; estimate
TURN_STEPS, LEAST_STEEP = 8, 0.5  # points over which a direction is taken; sideways per step down of a line that still goes down
HELD_TWICE = 6.0  # a stretch held at both ends strays so many times less than one that goes on freely; estimate
BEND_DOUBT = 0.4  # share of a bridge's bend that may be a corner instead (two pieces meeting under the sticker); estimate


def at_row(points_px: Floats, row: float, corner: bool = False) -> tuple[float, float, float] | None:
    """Where a curve crosses a picture row.

    A stretch that a sticker hides is bridged by a cubic through both of its ends in the directions the curve has there; how far that
    lies from the straight bridge tells how unsure it is.

    Parameters
    ----------
    points_px : ndarray, shape (N, 2)
    row : float
    corner : bool
        Two pieces meet where it crosses: under a sticker each runs on straight as far as the other.

    Returns
    -------
    (x, length in px of the stretch bridged, standard uncertainty of the bridging in px), or None where it does not cross.
    """
    y = points_px[:, 1] - row
    crossings = np.flatnonzero(np.sign(y[:-1]) * np.sign(y[1:]) <= 0)
    if len(crossings) == 0:
        return None
    gaps = np.linalg.norm(points_px[crossings + 1] - points_px[crossings], axis=1)
    i = int(crossings[gaps.argmin()])
    (x0, y0), (x1, y1) = points_px[i], points_px[i + 1]
    share = 0.0 if y0 == y1 else (row - y0) / (y1 - y0)
    straight, gap = float(x0 + share * (x1 - x0)), float(gaps.min())
    if gap < UNDER_STICKER_PX:
        return straight, gap, 0.0
    slopes = []
    for part in (points_px[max(0, i + 1 - ENDS_POINTS) : i + 1], points_px[i + 1 : i + 1 + ENDS_POINTS]):
        rise = np.ptp(part[:, 1])
        slopes.append(float(np.polyfit(part[:, 1], part[:, 0], 1)[0]) if rise > ENDS_RISE_PX else (x1 - x0) / (y1 - y0))
    bridge = _hermite(share, y1 - y0, (x0, x1), slopes)
    if corner and (met := _corner(row, ((x0, y0), (x1, y1)), slopes)) is not None:
        return met, gap, BEND_DOUBT * abs(met - bridge) + WANDER * gap / HELD_TWICE
    return bridge, gap, BEND_DOUBT * abs(bridge - straight) + WANDER * gap / HELD_TWICE


def _hermite(share: float, rise: float, ends: Sequence[float], slopes: Sequence[float]) -> float:
    """The cubic through two ends with these slopes there, at a share of the way over `rise` between them (Hermite)."""
    t, back = share, 1 - share
    from_ends = ends[0] * (1 + 2 * t) * back**2 + ends[1] * (3 - 2 * t) * t**2
    return float(from_ends + rise * t * back * (slopes[0] * back - slopes[1] * t))


def _corner(row: float, ends: Sequence[tuple[float, float]], slopes: Sequence[float]) -> float | None:
    """Where two straight lines from these ends, which meet between them, cross a row; None where they do not meet there."""
    (x0, y0), (x1, y1) = ends
    if slopes[0] == slopes[1]:
        return None
    meet = (x1 - x0 + slopes[0] * y0 - slopes[1] * y1) / (slopes[0] - slopes[1])
    if not min(y0, y1) < meet < max(y0, y1):
        return None
    first = (row < meet) == (y0 < meet)
    return float(x0 + slopes[0] * (row - y0) if first else x1 + slopes[1] * (row - y1))


def under_sticker(corners_px: Floats, xy: Floats) -> bool:
    """Whether a point lies under a sticker or so near that its border may have been taken for the line."""
    return cv2.pointPolygonTest(corners_px.astype(np.float32), (float(xy[0]), float(xy[1])), True) > -UNDER_STICKER_PX


def direction_at_end(from_end: Floats) -> Floats:
    """Unit vector in which a curve leaves through its first point, from its first third (at least END_LEAST_PX)."""
    along = arc_length(from_end)
    part = from_end[along <= max(END_LEAST_PX, along[-1] / END_PARTS)]
    if len(part) < 2:
        part = from_end[:2]
    axis = np.linalg.svd(part - part.mean(0))[2][0]
    return np.asarray(axis * np.sign(axis @ (part[0] - part[-1])))


def upright_part(points_px: Floats) -> Floats:
    """A side seam without ends that turn off into a line it crosses; all of it where little would be left.

    Parameters
    ----------
    points_px : ndarray, shape (N, 2)
        In order along the seam.

    Returns
    -------
    ndarray, shape (M, 2)
    """
    step = min(TURN_STEPS, len(points_px) // 3)
    if step < 2:
        return points_px
    way = points_px[step:] - points_px[:-step]
    upright = np.flatnonzero(np.abs(way[:, 0]) < LEAST_STEEP * np.abs(way[:, 1]))
    if len(upright) < len(points_px) / 2:
        return points_px
    return points_px[upright[0] : upright[-1] + step + 1]
