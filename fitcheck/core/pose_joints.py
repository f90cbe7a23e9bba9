"""Numbers of the pose model's 33 points (BlazePose topology, Bazarevsky et al. 2020) that fitcheck looks at.

Left and right are the wearer's own; pairs are (left, right), as `core.records.SIDES`.
"""

from fitcheck.core.records import SIDES, Side

NOSE = 0
LEFT_EYE, RIGHT_EYE = EYES = (2, 5)
LEFT_EAR, RIGHT_EAR = EARS = (7, 8)
LEFT_SHOULDER, RIGHT_SHOULDER = SHOULDERS = (11, 12)
LEFT_ELBOW, RIGHT_ELBOW = ELBOWS = (13, 14)
LEFT_WRIST, RIGHT_WRIST = WRISTS = (15, 16)
LEFT_KNUCKLE, RIGHT_KNUCKLE = KNUCKLES = (19, 20)  # of the forefingers
LEFT_HIP, RIGHT_HIP = HIPS = (23, 24)
LEFT_KNEE, RIGHT_KNEE = KNEES = (25, 26)
LEFT_ANKLE, RIGHT_ANKLE = ANKLES = (27, 28)
LEFT_HEEL, RIGHT_HEEL = HEELS = (29, 30)
LEFT_TOE, RIGHT_TOE = TOES = (31, 32)

# The pairs by the names that tables use.
JOINTS: dict[str, tuple[int, int]] = {
    "ear": EARS,
    "shoulder": SHOULDERS,
    "elbow": ELBOWS,
    "wrist": WRISTS,
    "hip": HIPS,
    "knee": KNEES,
    "ankle": ANKLES,
    "heel": HEELS,
    "toe": TOES,
}


def of_side(pair: tuple[int, int], side: Side) -> int:
    """The one of a pair that is on that side.

    >>> of_side(HEELS, "wearer_right")
    30
    """
    return pair[SIDES.index(side)]
