"""What benchmarks and training read out of the truth of a scene (tests/scenes)."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

HIGH_MM, LONG_MM, FACING = 3.0, 60.0, 0.5
STEP_MM = 5.0  # between the points of a true fold
Lines = list[tuple[str, np.ndarray]]


def in_view(points_mm: np.ndarray, view: dict[str, Any]) -> tuple[np.ndarray, np.ndarray]:
    """Points (N, 3) of the subject frame in one view: pixels (N, 2), and millimetres (N, 3) before the camera."""
    camera = view["camera"]
    world = points_mm @ np.array(view["subject_R"]).T + np.array(view["subject_t_mm"])
    seen = world @ np.array(camera["R_world_to_cam"]).T + np.array(camera["t_mm"])
    px = cv2.projectPoints(seen, np.zeros(3), np.zeros(3), np.array(camera["K"]), np.array(camera["dist"]))[0]
    return px.reshape(-1, 2), seen


@dataclass(frozen=True)
class Stretch:
    """A stretch of a true fold that is seen, from within 60 degrees."""

    kind: str  # ridge | valley
    px: np.ndarray  # (N, 2)
    height_mm: np.ndarray  # (N,)
    clear: bool  # of a fold that should be found


def stretches(view: list[dict[str, Any]]) -> list[Stretch]:
    """What can be seen of the folds of one view of folds.json."""
    found = []
    for fold in view:
        px, height = np.array(fold["px"]), np.array(fold["height_mm"])
        seen = (np.array(fold["visible"]) > 0) & (np.array(fold["facing"]) > FACING)
        clear = bool(STEP_MM * (len(px) - 1) >= LONG_MM and np.percentile(height, 75) >= HIGH_MM)
        ends = np.flatnonzero(np.diff(np.r_[0, seen.astype(int), 0]))
        found += [Stretch(fold["kind"], px[a:b], height[a:b], clear) for a, b in zip(ends[::2], ends[1::2], strict=True) if b - a >= 3]
    return found


def true_lines(view: list[dict[str, Any]]) -> tuple[Lines, Lines]:
    """Visible stretches of folds that should be found, and of those that need not be."""
    found = stretches(view)
    wanted, low = ([(part.kind, part.px) for part in found if part.clear == clear] for clear in (True, False))
    return wanted, low


def height_picture(
    view: dict[str, Any],
    vertices_mm: np.ndarray,
    triangles: np.ndarray,
    height_mm: np.ndarray,
    to_here: Callable[[np.ndarray], np.ndarray],
    shape: tuple[int, int],
) -> np.ndarray:
    """Relative height of the cloth that one view shows, as a picture of 2.5 mm a pixel; far triangles are painted first.

    Parameters
    ----------
    view : dict
        Of truth.json.
    vertices_mm, triangles : ndarray, shapes (n, 3) and (m, 3)
        The draped cloth.
    height_mm : ndarray, shape (n,)
        Of each vertex (tests/scenes/fold_truth.py).
    to_here : callable
        Pixels of the photo to pixels of the picture.
    """
    px, seen = in_view(vertices_mm, view)
    here = np.round(to_here(px) * 16).astype(np.int32)
    picture = np.zeros(shape, np.float32)
    for i in np.argsort(-seen[triangles].mean(1)[:, 2]):
        cv2.fillConvexPoly(picture, here[triangles[i]], float(height_mm[triangles[i]].mean()), shift=4)
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.2))
