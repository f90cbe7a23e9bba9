"""A camera above a table: pinhole, radial bending (OpenCV's model), any tilt. Table frame: mm, y downwards, z up."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from ..mesh import Floats

STRIDE = 8  # pixels between those whose rays are computed; the rest lie between


@dataclass(frozen=True)
class TableCamera:
    """OpenCV's numbers, of a frame whose y points up (so away from the viewer's feet) and z to the camera."""

    matrix: Floats
    distortion: Floats
    rotation: Floats
    translation: Floats
    size: tuple[int, int]

    @property
    def eye(self) -> Floats:
        """Where it stands, table frame, shape (3,)."""
        at = -self.rotation.T @ self.translation
        return np.array([at[0], -at[1], at[2]])

    def pixels(self, points: Floats) -> Floats:
        """Where points of the table are seen, shape (N, 2)."""
        solid = np.column_stack([points[:, 0], -points[:, 1], np.zeros(len(points))])
        seen, _ = cv2.projectPoints(solid, cv2.Rodrigues(self.rotation)[0], self.translation, self.matrix, self.distortion)
        return np.asarray(seen.reshape(-1, 2), float)

    def on_table(self, pixels: Floats) -> Floats:
        """Where the rays of pixels meet the table, shape (N, 2)."""
        flat = cv2.undistortPointsIter(
            pixels.reshape(-1, 1, 2), self.matrix, self.distortion, np.eye(3), np.eye(3), (cv2.TERM_CRITERIA_COUNT, 40, 1e-9)
        ).reshape(-1, 2)
        rays = np.column_stack([flat, np.ones(len(flat))]) @ self.rotation
        start = -self.rotation.T @ self.translation
        at = start - rays * (start[2] / rays[:, 2:])
        return np.column_stack([at[:, 0], -at[:, 1]])

    def ground(self) -> NDArray[np.float32]:
        """The table's place in every pixel, shape (H, W, 2)."""
        width, height = self.size
        cells = [-(-n // STRIDE) + 2 for n in (width, height)]  # one more at either end: OpenCV's resize puts values in the middle of cells
        x, y = np.meshgrid(*((np.arange(n) - 0.5) * STRIDE - 0.5 for n in cells))
        coarse = self.on_table(np.column_stack([x.ravel(), y.ravel()])).reshape(*x.shape, 2).astype(np.float32)
        fine = cv2.resize(coarse, (cells[0] * STRIDE, cells[1] * STRIDE), interpolation=cv2.INTER_LINEAR)
        return np.ascontiguousarray(fine[STRIDE : STRIDE + height, STRIDE : STRIDE + width], np.float32)


def above(
    target: Floats,
    height: float,
    tilt_deg: float,
    azimuth_deg: float,
    roll_deg: float,
    focal: float,
    bend: tuple[float, float],
    size: tuple[int, int],
) -> TableCamera:
    """A camera that looks at a place of the table from a height, tilted from the plumb line towards an azimuth.

    Parameters
    ----------
    focal : float
        Pixels.
    bend : (float, float)
        k1, k2.
    """
    tilt, azimuth, roll = np.radians([tilt_deg, azimuth_deg, roll_deg])
    eye = np.array([target[0], -target[1], 0.0]) + height * np.array([np.tan(tilt) * np.cos(azimuth), np.tan(tilt) * np.sin(azimuth), 1.0])
    forward = np.array([target[0], -target[1], 0.0]) - eye
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    turn = np.stack([right * np.cos(roll) + down * np.sin(roll), -right * np.sin(roll) + down * np.cos(roll), forward])
    matrix = np.array([[focal, 0, (size[0] - 1) / 2], [0, focal, (size[1] - 1) / 2], [0, 0, 1.0]])
    return TableCamera(matrix, np.array([*bend, 0, 0, 0], float), turn, -turn @ eye, size)
