"""Does she stand evenly, so that the heights of her shoulders can be compared?

Whoever rests on one leg or puts a hand on the hip drops a shoulder by more than any pattern is altered for. Both sides are compared in the
picture; each hand against its own shoulder, so that one-sided shoulders alone are no uneven stance.
"""

import numpy as np

from fitcheck.core.pose_joints import ANKLES, ELBOWS, HIPS, LEAST_SEEN, SHOULDERS, WRISTS
from fitcheck.core.records import Pose

# How far left and right may differ, mm at her depth: 12, 22, 20 and 28 is the most in 31 rendered photos of even stances. Estimates.
HIPS_MM, HANDS_MM, ELBOWS_MM, FEET_MM = 30.0, 90.0, 60.0, 90.0


def stands_evenly(pose: Pose, mm_per_px: float) -> bool:
    """Whether hips, elbows, hands and feet of a front or back view are alike on both sides.

    Parameters
    ----------
    pose : Pose
        Joints that it hardly sees say nothing.
    mm_per_px : float
    """
    down = pose.points_px[:, 1] * mm_per_px
    own = down - np.where(np.arange(len(down)) % 2 == 1, down[SHOULDERS[0]], down[SHOULDERS[1]])  # odd numbers are the left joints

    def differ(pair: tuple[int, int], heights: np.ndarray) -> float:
        return float(abs(heights[pair[0]] - heights[pair[1]])) if pose.visibility[[*pair]].min() >= LEAST_SEEN else 0.0

    return (
        differ(HIPS, down) < HIPS_MM
        and differ(WRISTS, own) < HANDS_MM
        and differ(ELBOWS, own) < ELBOWS_MM
        and differ(ANKLES, down) < FEET_MM
    )
