"""Where the shoulder is highest beside a bare arm, seen from the side: the top of the curve in which the cloth ends over it.

The ridge of the shoulder runs from the neck out to the bone. An armhole crosses it, so its highest place as seen from the side lies on
the ridge, however the arm is held; how far from the bone, says `landmarks.toml`. A sleeve shows no such place.
"""

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.pose_joints import JOINTS, LEAST_SEEN
from fitcheck.core.records import SIDE_VIEW, SIDES, Floats, Pose, Sighting, View
from fitcheck.vision.trace.outline_path import STEP_MM, doubt_px, follow_outlines, placed_finely

NAME = "shoulder_top"  # see body/landmarks.toml
# The curve is looked for about an arc of this radius and so many degrees to both sides, whose top lies so far above the pose model's joint:
# first coarsely, with every millimetre taken for two, then about what was found. Our scenes.
RADIUS_MM, SPREAD_DEG, ABOVE_JOINT_MM = 42.0, 68.0, 15.0
BEHIND_MM = (0.0, 15.0, 30.0)  # behind the joint, where it is begun: the pose model's lies before the top rather than behind it
COARSE, ROUNDS = 2.0, 4
TOP_MM, LEAST_BESIDE_MM = 9.0, 10.0  # a parabola is laid through what lies so little below the top; it must reach so far to both sides
FEWEST = 4  # points, that a parabola can be laid through with something left to judge it by
LEAST_BEND, MOST_BEND = 0.004, 0.03  # 1/mm of that parabola: curves of 125 to 17 mm radius
MOST_OFF_MM, MOST_VAGUE_MM = 1.2, 2.0  # what the edge strays from it, and the doubt of its points
CHANGE_MM = 1.5  # of the top from one round to the next, which ends the search
ON_HER_MM = 15.0  # above the top there is still more of her; above a sleeve's there is the wall
EDGE_SD_MM = 1.0  # of the top along the curve, beside the fit's own: rims and shadows; estimate


def shoulder_top(rgb: NDArray[np.uint8], view: View, pose: Pose, mm_per_px: float) -> tuple[Sighting, ...]:
    """The top of the near armhole in a side photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (H, W, 3)
    view : View
    pose : Pose
    mm_per_px : float
        Scale of the photo at the body.

    Returns
    -------
    tuple of Sighting
        None from front and back, and where no cloth ends in a curve over an arm.
    """
    side = next((side for side in SIDES if SIDE_VIEW[side] == view), None)
    if side is None:
        return ()
    joint = JOINTS["shoulder"][SIDES.index(side)]
    if pose.visibility[joint] < LEAST_SEEN:
        return ()
    forward = 1.0 if view == "right" else -1.0
    starts = [pose.points_px[joint] - np.array([forward * behind, ABOVE_JOINT_MM]) / mm_per_px for behind in BEHIND_MM]
    followed = [top for top in (_followed(rgb, start, mm_per_px) for start in starts) if top is not None]
    found = [top for top in followed if _on_her(pose, top[0] - [0.0, ON_HER_MM / mm_per_px])]
    if not found:
        return ()
    xy, sd_mm = min(found, key=lambda top: top[1])
    return (Sighting(NAME, side, view, "detected", xy, sd_mm / mm_per_px, kind="armhole"),)


def _on_her(pose: Pose, xy: Floats) -> bool:
    x, y = np.rint(xy).astype(int)
    height, width = pose.mask.shape
    return bool(0 <= x < width and 0 <= y < height and pose.mask[y, x])


def _followed(rgb: NDArray[np.uint8], start: Floats, mm_per_px: float) -> tuple[Floats, float] | None:
    """As `_top`, of the edge that is found from `start`; None where the search does not come to rest."""
    line, _ = _edge(rgb, start, mm_per_px, COARSE)
    top = line[line[:, 1].argmin()]
    for _ in range(ROUNDS):
        found = _top(*_edge(rgb, top, mm_per_px, 1.0), mm_per_px)
        if found is None:
            return None
        moved, top = float(np.linalg.norm(found[0] - top)) * mm_per_px, found[0]
        if moved < CHANGE_MM:
            return found
    return None


def _edge(rgb: NDArray[np.uint8], top: Floats, mm_per_px: float, coarse: float) -> tuple[Floats, Floats]:
    """The edge between cloth and arm about an arc whose top is `top`: points (N, 2) and their doubts in px, (N,).

    With `coarse` it is looked for so many times farther off, in so many times larger steps.
    """
    radius, px_per_mm = RADIUS_MM / mm_per_px, coarse / mm_per_px
    turn = np.arange(-np.radians(SPREAD_DEG), np.radians(SPREAD_DEG), coarse * STEP_MM / RADIUS_MM)
    out, across = np.stack([np.sin(turn), -np.cos(turn)], axis=1), np.stack([np.cos(turn), np.sin(turn)], axis=1)
    points = top + [0.0, radius] + radius * out
    nothing = np.zeros((1, len(turn)))
    # the cloth ends towards the arm: that is outwards here
    whole = np.ones((1, len(turn)), np.intp)
    course = follow_outlines(rgb, points[None], -out[None], STEP_MM * px_per_mm * across[None], nothing, whole, px_per_mm)
    line = placed_finely(rgb, points, -out, across, course.shift_mm[0] * px_per_mm)
    return line, doubt_px(course, nothing, px_per_mm)[0]


def _top(line: Floats, doubt: Floats, mm_per_px: float) -> tuple[Floats, float] | None:
    """The top (pixels) of an edge and its sd sideways in mm; None where the edge has none or is vague there."""
    x, y = line.T * mm_per_px
    near = y - y.min() < TOP_MM
    if near.sum() < FEWEST:
        return None
    middle = float(x[near].mean())
    fitted, covariance = np.polyfit(x[near] - middle, y[near], 2, cov="unscaled")
    bend, slope, _ = fitted
    off = float(np.sqrt(np.mean((np.polyval(fitted, x[near] - middle) - y[near]) ** 2)))
    if off > MOST_OFF_MM or not LEAST_BEND < bend < MOST_BEND:
        return None
    top = float(-slope / (2 * bend))
    if not x[near].min() + LEAST_BESIDE_MM < top + middle < x[near].max() - LEAST_BESIDE_MM:
        return None
    for beside in (x[near] < top + middle, x[near] > top + middle):  # an edge that is lost on one side leads astray
        if float(np.median(doubt[near][beside])) * mm_per_px > MOST_VAGUE_MM:
            return None
    by_fit = np.array([-top / bend, -1 / (2 * bend)])  # derivatives of the top by bend and slope
    sd = max(off, float(np.median(doubt[near])) * mm_per_px) * float(np.sqrt(by_fit @ covariance[:2, :2] @ by_fit))
    return np.array([top + middle, float(np.polyval(fitted, top))]) / mm_per_px, float(np.hypot(sd, EDGE_SD_MM))
