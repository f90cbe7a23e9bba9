"""What benchmarks and training read out of the truth of a scene (tests/scenes)."""

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


def true_lines(view: list[dict[str, Any]]) -> tuple[Lines, Lines]:
    """Visible stretches of folds that should be found, and of those that need not be."""
    wanted: Lines = []
    low: Lines = []
    for fold in view:
        px, height = np.array(fold["px"]), np.array(fold["height_mm"])
        seen = (np.array(fold["visible"]) > 0) & (np.array(fold["facing"]) > FACING)
        clear = STEP_MM * (len(px) - 1) >= LONG_MM and np.percentile(height, 75) >= HIGH_MM
        ends = np.flatnonzero(np.diff(np.r_[0, seen.astype(int), 0]))
        (wanted if clear else low).extend((fold["kind"], px[a:b]) for a, b in zip(ends[::2], ends[1::2], strict=True) if b - a >= 3)
    return wanted, low
