"""Named body points from everything that shows them: stickers first, then the pose model and the outline, with honest doubt."""

from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.body.proportions import SeenPoint, body_points, seen_points
from fitcheck.core.points import MARKED_POINTS
from fitcheck.core.records import SIDE_VIEW, Floats, Landmark, Pose, Side, Sighting, View
from fitcheck.core.solution import Solution, Tie

LEAST_VISIBLE = 0.5
FORWARD_IN_PICTURE = {"right": 1.0, "left": -1.0}  # in which picture direction she looks
LEFT_IN_PICTURE = {"front": 1.0, "back": -1.0}  # in which picture direction her left lies
NOT_A_LANDMARK = ("heel",)
LEAST_FACING = 0.22  # edge-on, a dot is a sliver
_STICKERS = {point.name for point in MARKED_POINTS.values()} - {"underarm_point"}  # the arm hides it


def pose_sightings(view: View, pose: Pose, mm_per_px: float) -> list[Sighting]:
    """What the pose model and the top of the outline show in one photo.

    Parameters
    ----------
    mm_per_px : float
        At the card; turns the table's millimetres into pixels.
    """
    found: list[Sighting] = []
    height, width = pose.mask.shape
    for point in seen_points():
        if not _used(point, view):
            continue
        if point.pose_point is not None and pose.visibility[point.pose_point] >= LEAST_VISIBLE:
            xy = pose.points_px[point.pose_point]
            if 0 <= xy[0] < width and 0 <= xy[1] < height:
                found.append(Sighting(point.name, point.side, view, "detected", xy, point.seen_sd_mm / mm_per_px, kind="pose"))
        if point.edge == "top":
            rows = np.flatnonzero(pose.mask.any(axis=1))
            if len(rows) and rows[0] > 2:
                xy = np.array([np.flatnonzero(pose.mask[rows[0]]).mean(), float(rows[0])])
                found.append(Sighting(point.name, point.side, view, "detected", xy, point.seen_sd_mm / mm_per_px, kind="outline_top"))
    return found


def facing_points(body: Solution, view: View) -> dict[tuple[str, Side | None], Floats]:
    """Where the points that can carry a sticker and face the camera are expected in a photo, pixels."""
    placement = body.views[view]
    found: dict[tuple[str, Side | None], Floats] = {}
    for key, point in body_points().items():
        at = body.position(*key)
        to_camera = -(placement.rotation.T @ placement.translation_mm) - at
        if point.name in _STICKERS and point.normal @ to_camera / np.linalg.norm(to_camera) > LEAST_FACING:
            found[key] = placement.project(at + point.stand_off_mm[0] * point.normal)[0]
    return found


def outline_rows(body: Solution, view: View) -> list[tuple[SeenPoint, float]]:
    """Places where the outline would help, and the picture row of each."""
    return [
        (point, float(body.views[view].project(body.position(*point.anchor))[0, 1]))
        for point in seen_points()
        if point.edge in ("front", "back", "side") and point.anchor is not None and _used(point, view)
    ]


def outline_sightings(
    view: View, rows: Sequence[tuple[SeenPoint, float]], left_px: Floats, right_px: Floats, sd_px: Floats
) -> list[Sighting]:
    """The outline at those rows as sightings; only their sideways position counts.

    Parameters
    ----------
    rows : sequence of (SeenPoint, row)
        As `outline_rows` gave them.
    left_px, right_px, sd_px : ndarray, shape (len(rows),)
        The figure's edges in the picture, NaN where hidden, and their standard uncertainty.
    """
    found: list[Sighting] = []
    for (point, row), left, right, sd in zip(rows, left_px, right_px, sd_px, strict=True):
        if point.edge == "side":
            towards = LEFT_IN_PICTURE[view] * (1.0 if point.side == "wearer_left" else -1.0)
        else:
            towards = FORWARD_IN_PICTURE[view] * (1.0 if point.edge == "front" else -1.0)
        x = right if towards > 0 else left
        if np.isfinite(x):
            found.append(Sighting(point.name, point.side, view, "detected", np.array([x, row]), float(sd), kind="outline"))
    return found


def seen_ties(sightings: Sequence[Sighting]) -> list[Tie]:
    """What ties the points seen beside a landmark to it."""
    names = {(s.name, s.side) for s in sightings}
    return [
        Tie((point.name, point.side), point.anchor, point.offset_mm, point.sd_mm)
        for point in seen_points()
        if point.anchor is not None and (point.name, point.side) in names
    ]


def landmarks(body: Solution, sightings: Sequence[Sighting]) -> tuple[Landmark, ...]:
    """The solved body points as records, each with what it rests on."""
    found: list[Landmark] = []
    beside: Mapping[tuple[str, Side | None], tuple[str, Side | None]] = {
        (p.name, p.side): p.anchor for p in seen_points() if p.anchor is not None
    }
    for name, side in body_points():
        if name in NOT_A_LANDMARK:
            continue
        own = [s for s in sightings if (s.name, s.side) == (name, side)]
        near = [s for s in sightings if beside.get((s.name, s.side)) == (name, side)]
        flags: list[str] = []
        if not own:
            flags.append("marker_missing")
        elif len({s.view for s in own}) == 1:
            flags.append("point_seen_once")
        flags += [flag for s in own for flag in s.flags if flag not in flags]
        found.append(Landmark(name, side, body.position(name, side), body.sd(name, side), tuple(own + near), tuple(flags)))
    return tuple(found)


def _used(point: SeenPoint, view: View) -> bool:
    return view in point.views or ("near" in point.views and point.side is not None and SIDE_VIEW[point.side] == view)
