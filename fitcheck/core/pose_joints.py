"""Numbers of the pose model's 33 points (BlazePose topology, Bazarevsky et al. 2020) that fitcheck looks at.

Left and right are the wearer's own; pairs are (left, right), as `core.records.SIDES`.
"""

from fitcheck.core.records import SIDES, Pose, Side

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

EDGE_ROWS = 3  # a figure that ends so near the picture's edge is cut off
FOOT = 0.1  # of her height in the picture, from ankle to toe at most; up to 0.09 in our front photos
LEAST_SEEN = 0.5  # of a joint, as the pose model rates itself; below it guesses

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


def ankles_seen(pose: Pose) -> bool:
    """Whether at least one ankle is in the picture.

    Where the picture ends above them, the model puts legs where they cannot be: knees and hips up to half a metre too high. It rates
    the ankles 0.95 and more in whole photos (the better one), 0.7 to 0.9 cut at the shins, 0.0 to 0.5 cut at the knees or above; but now
    and then it stands a whole small figure into the picture, whose feet then end above a lower edge that cuts her.
    """
    best = max(ANKLES, key=lambda k: pose.visibility[k])
    rows = pose.mask.shape[0]
    cut = pose.mask[-EDGE_ROWS:].any() and rows - pose.points_px[best, 1] > FOOT * (rows - pose.mask.argmax() // pose.mask.shape[1])
    return bool(pose.visibility[best] >= LEAST_SEEN and not cut)


def of_side(pair: tuple[int, int], side: Side) -> int:
    """The one of a pair that is on that side.

    >>> of_side(HEELS, "wearer_right")
    30
    """
    return pair[SIDES.index(side)]
