"""Where the soles meet the floor: the lower edge of each foot, which tells how high the floor lies far better than the pose model does.

Seen from the front the toes end on the floor, from the back the heels, from the side the near foot's outer edge.
"""

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.pose_joints import HEELS, TOES, of_side
from fitcheck.core.records import SIDE_VIEW, SIDES, Pose, Sighting, View
from fitcheck.vision.person.mask_edge import MASK_SD_MM, edges_beside_mask
from fitcheck.vision.person.pose import px_per_mm

HALF_FOOT_MM = 45.0  # half the breadth of a foot, and how far the pose's point lies beside its middle; estimate
BEHIND_HEEL_MM = 10.0  # a heel goes on behind its point of the pose
REACH_MM = 100.0  # the pose's feet lie this close to the real ones, or were put elsewhere
COLUMNS = 30  # across a foot that are looked at
SOLE_MM = 15.0  # columns where the mask ends that close to its lowest end show the sole, not the sides of the foot
FEWEST = 6  # of them that must show a sole (estimate)
AROUND_MM, AROUND_PX = 30.0, 10  # of the picture, more than the edge finder looks at
LEAST_CLEAR = 0.7  # share of those columns with a clear edge: else something stands before the foot
CLEAR_SHARE = 0.5  # of the mask's own doubt, below which an edge is clear
FREE_ROWS = 2  # of the picture below a sole
LEAST_VISIBLE = 0.5  # how surely the pose must see heel and toe (estimate)
LOWEST = 90.0  # percentile of the columns' edges: single columns catch a shadow
SOLE_SD_MM = 2.0  # shadows where foot and floor meet, and the toes' scallops; measured on our draped scenes: 1 to 2


def find_soles(photo_rgb: NDArray[np.uint8], pose: Pose, view: View) -> tuple[Sighting, ...]:
    """The lowest row of each foot that the photo shows whole.

    Parameters
    ----------
    photo_rgb : ndarray of uint8, shape (H, W, 3)
    pose : Pose
    view : View

    Returns
    -------
    tuple of Sighting
        Of kind `outline_bottom`: only the row counts. Empty where shadow, picture edge or cloth hides the feet.
    """
    scale = px_per_mm(pose)
    found = []
    for side in SIDES:
        heel, toe = of_side(HEELS, side), of_side(TOES, side)
        if view not in ("front", "back", SIDE_VIEW[side]) or min(pose.visibility[[heel, toe]]) < LEAST_VISIBLE:
            continue
        row = _lowest(photo_rgb, pose, _columns(pose, view, heel, toe, scale), pose.points_px[[heel, toe], 1], scale)
        if row is not None:
            seen_from = "side" if view == SIDE_VIEW[side] else view
            column = float(pose.points_px[toe if view == "front" else heel, 0])
            at = np.array([column, row])
            found.append(Sighting(f"sole_from_{seen_from}", side, view, "detected", at, SOLE_SD_MM * scale, kind="outline_bottom"))
    return tuple(found)


def _columns(pose: Pose, view: View, heel: int, toe: int, scale: float) -> NDArray[np.intp]:
    if view in ("front", "back"):
        middle, half = pose.points_px[toe if view == "front" else heel, 0], HALF_FOOT_MM * scale
        columns = np.linspace(middle - half, middle + half, COLUMNS)
    else:
        heel_x, toe_x = pose.points_px[[heel, toe], 0]
        columns = np.linspace(heel_x - np.sign(toe_x - heel_x) * BEHIND_HEEL_MM * scale, toe_x, COLUMNS)
    columns = np.unique(np.rint(columns).astype(int))
    return np.asarray(columns[(columns >= 0) & (columns < pose.mask.shape[1])])


def _lowest(rgb: NDArray[np.uint8], pose: Pose, columns: NDArray[np.intp], feet_rows: NDArray[np.float64], scale: float) -> float | None:
    """Row of the feet's lower edge in these columns, None where it is not clear."""
    height = pose.mask.shape[0]
    top = max(int(feet_rows.min() - REACH_MM * scale), 0)
    part = pose.mask[top : int(feet_rows.max() + REACH_MM * scale) + 1, columns]
    if part.shape[0] < FREE_ROWS or not part.any():
        return None
    last = np.where(part.any(axis=0), top + part.shape[0] - 1 - part[::-1].argmax(axis=0), -1)
    sole = last > last.max() - SOLE_MM * scale
    if sole.sum() < FEWEST or last.max() >= min(height - FREE_ROWS, top + part.shape[0] - 1):
        return None
    # the edge finder works along rows; turned over the diagonal, downwards is its outwards
    around = int(AROUND_MM * scale) + AROUND_PX
    first, over, below = max(int(columns[0]) - around, 0), int(columns[-1]) + around, int(last.max()) + around
    turned = np.ascontiguousarray(rgb[top:below, first:over].swapaxes(0, 1))
    mask = np.ascontiguousarray(pose.mask[top:below, first:over].T)
    edges, sds = edges_beside_mask(turned, mask, columns[sole] - float(first), last[sole] - top, np.ones(int(sole.sum()), int), scale)
    clear = sds < CLEAR_SHARE * MASK_SD_MM * scale
    if clear.mean() < LEAST_CLEAR:
        return None
    return top + float(np.percentile(edges[clear], LOWEST))
