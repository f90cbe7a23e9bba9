"""Pinhole camera with Brown distortion, OpenCV conventions.

World frame: metres, Z up, origin on the floor under the turning axis of the subject; an undisturbed camera looks along +Y.
Pixels: centre of the top left pixel is (0, 0).
"""

import math
from typing import Any

import numpy as np

from .mesh import Floats
from .spec import CameraSpec

FULL_FRAME_DIAGONAL_MM = math.hypot(36, 24)


def focal_px(f35_mm: float, size: tuple[int, int]) -> float:
    """35 mm equivalent focal length (by diagonal) in pixels."""
    return f35_mm * math.hypot(*size) / FULL_FRAME_DIAGONAL_MM


class Camera:
    """One photo's camera: where `spec` says, moved and turned a little at random.

    Attributes
    ----------
    size : tuple of int
        Width and height.
    matrix, dist : ndarray, shape (3, 3), (5,)
    rotation : ndarray, shape (3, 3)
        World to camera (x right, y down, z forward).
    position : ndarray, shape (3,)
    """

    def __init__(self, spec: CameraSpec, rng: np.random.Generator) -> None:
        self.size = spec.size
        focal = focal_px(spec.f35_mm, spec.size) * (1 + spec.f_error_pct / 100)
        cx, cy = ((n - 1) / 2 + off for n, off in zip(spec.size, spec.centre_offset_px, strict=True))
        self.matrix = np.array([[focal, 0, cx], [0, focal, cy], [0, 0, 1]])
        self.dist = np.array(spec.dist)
        self.position = np.array([spec.x_m, -spec.distance_m, spec.height_m]) + rng.normal(0, 0.008, 3) * spec.jitter
        pitch, yaw, roll = np.radians(rng.normal(0, 0.25, 3) * spec.jitter)
        roll += math.radians(spec.roll_deg)
        pitch += math.atan2(spec.aim_height_m - spec.height_m, spec.distance_m)
        ahead = np.array([-math.sin(yaw) * math.cos(pitch), math.cos(yaw) * math.cos(pitch), math.sin(pitch)])
        right = np.cross(ahead, [0, 0, 1])
        right /= np.linalg.norm(right)
        up = np.cross(right, ahead)
        across, upright = right * math.cos(roll) + up * math.sin(roll), -right * math.sin(roll) + up * math.cos(roll)
        self.rotation = np.stack([across, -upright, ahead])

    def project(self, p: Floats) -> Floats:
        """World points (n, 3), m, in pixels (n, 2)."""
        in_camera = (np.asarray(p, float).reshape(-1, 3) - self.position) @ self.rotation.T
        x, y = in_camera[:, 0] / in_camera[:, 2], in_camera[:, 1] / in_camera[:, 2]
        k1, k2, p1, p2, k3 = self.dist
        r = x * x + y * y
        radial = 1 + r * (k1 + r * (k2 + r * k3))
        bent = np.stack([x * radial + 2 * p1 * x * y + p2 * (r + 2 * x * x), y * radial + p1 * (r + 2 * y * y) + 2 * p2 * x * y], 1)
        return np.asarray(bent * self.matrix[[0, 1], [0, 1]] + self.matrix[:2, 2])

    def as_dict(self) -> dict[str, Any]:
        """For truth.json."""
        return {
            "size_px": list(self.size),
            "K": np.round(self.matrix, 4).tolist(),
            "dist": self.dist.tolist(),
            "R_world_to_cam": np.round(self.rotation, 7).tolist(),
            "t_mm": np.round(-self.rotation @ self.position * 1000, 3).tolist(),
            "position_mm": np.round(self.position * 1000, 3).tolist(),
        }
