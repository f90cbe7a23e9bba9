"""Where the soles meet the floor: the lower edge of each foot, which tells how high the floor lies far better than the pose model does.

Seen from the front the toes end on the floor, from the back the heels, from the side the near foot's outer edge.
"""

import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import SIDE_VIEW, SIDES, Pose, Side, Sighting, View
from fitcheck.vision.pose import px_per_mm
from fitcheck.vision.silhouette import MASK_SD_MM, refined

HALF_FOOT_MM = {"front": 32.0, "back": 22.0}  # half the breadth of a forefoot, of a heel; estimate
BEHIND_HEEL_MM = 10.0  # a heel goes on behind its point of the pose
REACH_MM = 60.0  # the pose's feet lie this close to the real ones, or were put elsewhere
COLUMNS = 24
LEAST_CLEAR = 0.7  # share of the columns with a clear edge: else something stands before the foot
LEAST_VISIBLE = 0.5
LOWEST = 90.0  # percentile of the columns' edges: single columns catch a shadow
SOLE_SD_MM = 2.0  # shadows where foot and floor meet, and the toes' scallops; measured on our draped scenes: 1 to 2

_HEELS: dict[Side, int] = {"wearer_left": 29, "wearer_right": 30}  # BlazePose topology
_TOES: dict[Side, int] = {"wearer_left": 31, "wearer_right": 32}


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
        heel, toe = _HEELS[side], _TOES[side]
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
    if view in HALF_FOOT_MM:
        middle, half = pose.points_px[toe if view == "front" else heel, 0], HALF_FOOT_MM[view] * scale
        columns = np.linspace(middle - half, middle + half, COLUMNS)
    else:
        heel_x, toe_x = pose.points_px[[heel, toe], 0]
        columns = np.linspace(heel_x - np.sign(toe_x - heel_x) * BEHIND_HEEL_MM * scale, toe_x, COLUMNS)
    columns = np.unique(np.rint(columns).astype(int))
    return np.asarray(columns[(columns >= 0) & (columns < pose.mask.shape[1])])


def _lowest(
    rgb: NDArray[np.uint8], pose: Pose, columns: NDArray[np.intp], feet_rows: NDArray[np.float64], scale: float
) -> float | None:
    """Row of the feet's lower edge in these columns, None where it is not clear."""
    top, bottom = (int(edge) for edge in (feet_rows.min() - REACH_MM * scale, feet_rows.max() + REACH_MM * scale))
    part = pose.mask[max(top, 0) : bottom + 1, columns]
    if part.shape[0] < 2 or part.shape[1] < 2:
        return None
    last = max(top, 0) + part.shape[0] - 1 - part[::-1].argmax(axis=0)
    whole = part.any(axis=0) & (last < min(bottom, pose.mask.shape[0] - 2))
    if whole.sum() < max(2, LEAST_CLEAR * len(columns)):
        return None
    # the edge finder works along rows; turned over the diagonal, downwards is its outwards
    turned = np.ascontiguousarray(rgb[max(top, 0) : bottom + 60].transpose(1, 0, 2))
    mask = np.ascontiguousarray(pose.mask[max(top, 0) : bottom + 60].T)
    edges, sds = refined(turned, mask, columns[whole].astype(float), last[whole] - max(top, 0), np.ones(int(whole.sum()), int), scale)
    clear = sds < 0.5 * MASK_SD_MM * scale
    if clear.sum() < max(2, LEAST_CLEAR * len(columns)):
        return None
    return max(top, 0) + float(np.percentile(edges[clear], LOWEST))
