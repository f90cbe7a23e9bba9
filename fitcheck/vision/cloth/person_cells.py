"""Where the person is, cell by cell, closer than the mask of a pose network tells.

That mask is several pixels off; what continues the wall's colour from outside into its rim is wall.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

RIM = 9  # cells; how far a person mask may reach beyond the person
MASK_SHORT, WALL_FROM = 2, 3  # cells: how far it may end within her, and from where on all is wall
WALL_SIGMA = 5.0  # cells of the smaller picture in which the wall's colour nearby is averaged
WALL_NEAR = 0.045  # largest distance of the wall from its own mean nearby
LEAST_WALL = 1e-4  # weight of wall nearby that tells its colour


def person_cells(colour: NDArray[np.float32], mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which cells show the person, shape (H, W).

    Parameters
    ----------
    colour : ndarray of float32, shape (H, W, 3)
        Log colours.
    mask : ndarray of bool, shape (H, W)
        The pose network's.
    """
    rim = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * RIM + 1, 2 * RIM + 1))
    inside = cv2.erode(mask.astype(np.uint8), rim)
    wide, near = (cv2.dilate(mask.astype(np.uint8), np.ones((2 * cells + 1, 2 * cells + 1), np.uint8)) for cells in (MASK_SHORT, WALL_FROM))
    outside = (near == 0).astype(np.float32)
    # channel by channel: numpy is slow along a last axis as short as theirs
    both = cv2.merge([*(colour[..., i] * outside for i in range(3)), outside])
    reduced = cv2.resize(both, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)  # the blur leaves nothing finer
    around = cv2.resize(cv2.GaussianBlur(reduced, (0, 0), WALL_SIGMA), both.shape[1::-1], interpolation=cv2.INTER_LINEAR)
    total = around[..., 3]
    weight = np.maximum(total, LEAST_WALL)
    like = (inside == 0) & (total > LEAST_WALL)
    for i in range(3):
        like &= np.abs(colour[..., i] - around[..., i] / weight) < WALL_NEAR
    count, labels = cv2.connectedComponents((like | (outside > 0)).astype(np.uint8), connectivity=4)
    touching = np.zeros(count, bool)
    touching[labels[outside > 0]] = True
    return np.asarray((wide > 0) & ~touching[labels])
