"""The colour of what she wears, so that photos of different fittings are noticed."""

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.light import FULL
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Floats, Pose

_TO_XYZ = np.array([[0.4124, 0.2126, 0.0193], [0.3576, 0.7152, 0.1192], [0.1805, 0.0722, 0.9505]])  # of sRGB's red, green and blue light
_WHITE = _TO_XYZ.sum(axis=0)[:, None]
HALF_WIDE, HALF_HIGH = 0.18, 0.25  # of the box, as shares of the height from hips to shoulders (estimate)


def torso_colour(photo: Photo, pose: Pose) -> Floats:
    """Median CIELAB colour (L 0-100, a, b), shape (3,), of the middle of the torso.

    A box rather than the shoulder-hip quadrilateral, which is a sliver in a side view.
    """
    points = pose.points_px[[*SHOULDERS, *HIPS]]
    middle, height = points.mean(axis=0), np.ptp(points[:, 1])
    x0, x1 = (int(np.clip(middle[0] + side * HALF_WIDE * height, 0, photo.rgb.shape[1] - 1)) for side in (-1, 1))
    y0, y1 = (int(np.clip(middle[1] + side * HALF_HIGH * height, 0, photo.rgb.shape[0] - 1)) for side in (-1, 1))
    patch = photo.rgb[y0 : y1 + 1 : 3, x0 : x1 + 1 : 3]
    return np.asarray(np.median(_lab(patch.reshape(-1, 3)), axis=0))


def _lab(rgb: NDArray[np.uint8]) -> Floats:
    """CIELAB (L 0-100, a, b), shape (N, 3), of sRGB colours (IEC 61966-2-1, CIE 15).

    OpenCV's own takes 30 ms to fill its tables before the first colour of a process.
    """
    levels = rgb / FULL
    light = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    x, y, z = (light @ _TO_XYZ).T / _WHITE
    fx, fy, fz = (np.where(t > 216 / 24389, np.cbrt(t), (24389 / 27 * t + 16) / 116) for t in (x, y, z))
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=1)
