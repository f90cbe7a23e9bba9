"""The toe strips: their picture, where they lie, and where she stands by them. Metres.

Four strips, tails together, point to the camera, to image right, away and to image left. From the front and the back she stands astride
her strip, toes at its end; from a side behind it, the near foot along it, toes at its end.
"""

from pathlib import Path

import cv2
import numpy as np

from .mesh import Floats, rotation
from .prints import BLACK, WHITE
from .spec import ToeStrips, View

LENGTH_MM, BREADTH_MM, BAR_MM, NAME_FROM_MM = 190, 40, 5, 28  # from the tails to the toes' ends; of the black bar there; where words begin
POINTS_DEG: dict[View, float] = {"front": -90.0, "right": 0.0, "back": 90.0, "left": 180.0}  # seen from above, x to image right
FLAT_M = 0.0004  # above the floor
FOOT_M = 0.06  # what lies lower of her is a foot
BESIDE_M = 0.003  # between foot and strip
FONT = cv2.FONT_HERSHEY_SIMPLEX


def picture(path: Path, view: View, px_per_mm: int = 6) -> None:
    """Write one strip's picture, tail at the left."""
    image = np.full((BREADTH_MM * px_per_mm, LENGTH_MM * px_per_mm), WHITE, np.uint8)
    image[:, -BAR_MM * px_per_mm :] = BLACK
    cv2.putText(image, view.upper(), (NAME_FROM_MM * px_per_mm, 24 * px_per_mm), FONT, 0.4 * px_per_mm, BLACK, px_per_mm, cv2.LINE_AA)
    cv2.imwrite(str(path), image)


def corners(strips: ToeStrips, view: View, share: float) -> Floats:
    """Of one strip (4, 3): its tail's upper and lower, its end's lower and upper as it is read; printed `share` times too large."""
    half = BREADTH_MM / 2  # the tail is cut to a right angle: it is drawn from where that has its full breadth
    flat = share * np.array([[half, half], [half, -half], [LENGTH_MM, -half], [LENGTH_MM, half]]) / 1000
    lying = np.column_stack([flat, np.full(4, FLAT_M)]) @ rotation("z", strips.yaw_deg + POINTS_DEG[view]).T
    return np.asarray(lying + [*strips.pos_m, 0.0])


def on_strips(v: Floats, turn: Floats, view: View, strips: ToeStrips, off_m: tuple[float, float], share: float) -> Floats:
    """How she is to be shifted (3,) so that her feet stand by her strip, `off_m` beside her marks.

    Parameters
    ----------
    v : ndarray, shape (n, 3)
        Of her body, subject frame: her left at x above 0.
    turn : ndarray, shape (3, 3)
        world = turn @ subject + shift.
    """
    angle = np.radians(strips.yaw_deg + POINTS_DEG[view])
    ahead, away = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
    if away[1] < 0 and view in ("right", "left"):
        away = -away  # from the camera
    low = v[:, 2] < FOOT_M
    feet = [(v[low & (v[:, 0] * sign > 0)] @ turn.T)[:, :2] for sign in (1, -1)]
    toes = np.mean([(foot @ ahead).max() for foot in feet])
    if view in ("front", "back"):
        aside = np.mean([((foot @ away).max() + (foot @ away).min()) / 2 for foot in feet])
        marked = 0.0
    else:
        aside = min((foot @ away).min() for foot in feet)
        marked = share * BREADTH_MM / 2000 + BESIDE_M
    flat = ahead * (share * LENGTH_MM / 1000 - toes) + away * (marked - aside)
    return np.array([*(flat + strips.pos_m + off_m), 0.0])
