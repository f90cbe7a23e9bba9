"""The colour of what she wears, so that photos of different fittings are noticed."""

import cv2
import numpy as np

from fitcheck.core.camera import Photo
from fitcheck.core.light import FULL
from fitcheck.core.pose_joints import HIPS, SHOULDERS
from fitcheck.core.records import Floats, Pose

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
    lab = cv2.cvtColor(np.ascontiguousarray(patch, np.float32) / np.float32(FULL), cv2.COLOR_RGB2Lab)
    return np.asarray(np.median(lab.reshape(-1, 3), axis=0), np.float64)
