"""The colour of what she wears, so that photos of different fittings are noticed."""

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import Photo
from fitcheck.core.light import FULL
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Floats, Pose

# sRGB's red, green and blue light in XYZ, and its curve: straight up to a level, then a power (IEC 61966-2-1)
_TO_XYZ = np.array([[0.4124, 0.2126, 0.0193], [0.3576, 0.7152, 0.1192], [0.1805, 0.0722, 0.9505]])
_STRAIGHT_TO, _STRAIGHT_BY, _LIFT, _POWER = 0.04045, 12.92, 0.055, 2.4
# CIELAB of XYZ over white's: a cube root, and its tangent below where it reaches a share; and the scales of L, a and b (CIE 15)
_BEND, _TANGENT = 6 / 29, (29 / 6) ** 2 / 3
_TO_L, _BLACK, _TO_A, _TO_B = 116.0, 16.0, 500.0, 200.0
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
    light = np.where(levels <= _STRAIGHT_TO, levels / _STRAIGHT_BY, ((levels + _LIFT) / (1 + _LIFT)) ** _POWER)
    share = light @ _TO_XYZ / _TO_XYZ.sum(axis=0)
    root = np.cbrt(share)
    x, y, z = np.where(root > _BEND, root, _BEND + (share - _BEND**3) * _TANGENT).T
    return np.stack([_TO_L * y - _BLACK, _TO_A * (x - y), _TO_B * (y - z)], axis=1)
