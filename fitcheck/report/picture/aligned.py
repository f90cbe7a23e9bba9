"""Photos of two rounds cut alike: the same part of the body at the same scale, found through the body frame."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.check import PhotoResult
from fitcheck.core.diary import DiaryPhoto, Fitting
from fitcheck.core.records import Floats, View
from fitcheck.report.picture.crops import Box

_ABOVE_SHOULDER, _BELOW_SHOULDER, _HALF_WIDTH = 0.23, 0.46, 0.23  # of the shoulder points' height: from above the head to below the hips
_USUAL_SHOULDER_MM = 1360.0
_UNSEEN = 0.03  # a difference of scale below this is not seen side by side (estimate)
_FORWARD = {"front": ("x", 1.0), "back": ("x", -1.0), "right": ("z", 1.0), "left": ("z", -1.0)}  # what runs to image right


@dataclass(frozen=True, slots=True)
class Placing:
    """How the body frame lies in one photo: pixel = scale (mm across, mm down) + origin, as complex numbers x + iy.

    Attributes
    ----------
    scale : complex
        Pixels per mm, turned with the photo's own small tilt.
    shoulder_px : complex
        Where the middle of the shoulder points lies.
    doubt : float
        Standard uncertainty of the scale, as a share of it.
    """

    scale: complex
    shoulder_px: complex
    doubt: float


def placing(fitting: Fitting, view: View) -> Placing | None:
    """The least-squares similarity between solved body points and where they are seen; None with fewer than two.

    Stickers and placed points are used alone where there are three or more.
    """
    seen = [s for s in fitting.sightings if s.view == view and (s.name, s.side) in fitting.positions_mm]
    sure = [s for s in seen if s.grade != "detected"]
    used = sure if len(sure) > 2 else seen
    if len(used) < 2:
        return None
    flat = np.array([_flat(fitting.positions_mm[s.name, s.side], view) for s in used])
    px = np.array([complex(*s.xy_px) for s in used])
    design = np.column_stack([flat, np.ones(len(flat))])
    (scale, origin), *_ = np.linalg.lstsq(design, px, rcond=None)
    if abs(scale) < 1e-6:
        return None
    own = float(np.mean([s.sd_px**2 for s in used])) + abs(scale) ** 2 * float(np.mean([s.sd_mm**2 for s in used]))
    left_over = float((np.abs(design @ np.array([scale, origin]) - px) ** 2).sum()) / max(2 * len(used) - 4, 1)
    spread = float((np.abs(flat - flat.mean()) ** 2).sum())
    doubt = math.sqrt(max(own, left_over) / max(spread, 1e-9)) / abs(scale)
    return Placing(complex(scale), complex(scale * complex(0.0, -shoulder_height_mm(fitting)) + origin), doubt)


def shoulder_height_mm(fitting: Fitting) -> float:
    """Height of the middle of the shoulder points above the floor."""
    heights = [p[1] for (name, _), p in fitting.positions_mm.items() if name == "shoulder_point"]
    return float(np.mean(heights)) if heights else _USUAL_SHOULDER_MM


def at_one_scale(pair: Sequence[tuple[Placing, tuple[int, int]]], boxes: Sequence[Box]) -> bool:
    """Whether two pictures, drawn equally wide, show the body at one scale: both scales are known, and so much of her is in both photos."""
    if len(pair) < 2 or any(place.doubt > _UNSEEN for place, _ in pair):
        return False
    (width, height), (other_width, other_height) = (
        (box.width / abs(place.scale), box.height / abs(place.scale)) for (place, _), box in zip(pair, boxes, strict=True)
    )
    return abs(width / other_width - 1) <= _UNSEEN and abs(height / other_height - 1) <= _UNSEEN


def boxes_alike(pair: Sequence[tuple[Placing, tuple[int, int]]], height_mm: float) -> list[Box]:
    """The same part of the body in every photo.

    Parameters
    ----------
    pair : sequence of (Placing, (width, height))
        Each photo with its size in pixels.
    height_mm : float
        Of the shoulder points.

    Returns
    -------
    list of Box
        All the same size in mm: the trunk, less what lies outside any of the photos.
    """
    low = np.array([-_HALF_WIDTH, -_ABOVE_SHOULDER]) * height_mm
    high = np.array([_HALF_WIDTH, _BELOW_SHOULDER]) * height_mm
    for place, (width, height) in pair:
        first, last = (_mm(place, corner) for corner in (0j, complex(width - 1, height - 1)))
        low, high = np.maximum(low, first), np.minimum(high, last)
    boxes = []
    for place, (width, height) in pair:
        start, end = (place.shoulder_px + abs(place.scale) * complex(*corner) for corner in (low, high))
        left, top = max(0, round(start.real)), max(0, round(start.imag))
        boxes.append(Box(left, top, max(left + 1, min(width, round(end.real))), max(top + 1, min(height, round(end.imag)))))
    return boxes


def drawn(fitting: Fitting, photo: DiaryPhoto, rgb: NDArray[np.uint8]) -> PhotoResult:
    """The photo with what was found in it, in the pixels of a picture that may have been reduced."""
    share = rgb.shape[1] / photo.size_px[0]
    sightings = tuple(
        replace(s, xy_px=_scaled(s.xy_px, share), sd_px=s.sd_px * share)
        for s in fitting.sightings
        if s.view == photo.view and s.grade != "detected"
    )
    seams = tuple(replace(s, points_px=_scaled(s.points_px, share)) for s in fitting.seams if s.view == photo.view)
    picture = Photo(photo.view, photo.view, photo.sha256, rgb, None, "")
    return PhotoResult(picture, None, None, None, sightings, seams)


def scaled_placing(place: Placing, share: float) -> Placing:
    """The same in a picture reduced by `share`; pixel centres lie at integers."""
    return Placing(place.scale * share, (place.shoulder_px + 0.5 + 0.5j) * share - 0.5 - 0.5j, place.doubt)


def _scaled(points_px: Floats, share: float) -> Floats:
    return (np.asarray(points_px, dtype=float) + 0.5) * share - 0.5


def _flat(position_mm: Floats, view: View) -> complex:
    axis, sign = _FORWARD[view]
    return complex(sign * position_mm[0 if axis == "x" else 2], -position_mm[1])


def _mm(place: Placing, at_px: complex) -> Floats:
    away = (at_px - place.shoulder_px) / abs(place.scale)
    return np.array([away.real, away.imag])
