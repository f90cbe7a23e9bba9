"""Named body points from everything that shows them: stickers first, then the pose model and the outline, with honest doubt."""

from collections.abc import Mapping, Sequence

import numpy as np

from fitcheck.body.point_table import SeenPoint, body_points, seen_points
from fitcheck.core.points import MARKED_POINTS
from fitcheck.core.pose_joints import ANKLES, HEELS, HIPS, LEAST_SEEN, ankles_seen
from fitcheck.core.records import SIDE_VIEW, Floats, Landmark, Pose, Side, Sighting, View
from fitcheck.core.solution import Solution, Tie

# The outline is read from so far below the hip, where hands begin, to so far above the neck, where hair does, in so many rows: neighbouring
# ones stray alike, so more would tell little more. Estimates.
BELOW_HIP_MM, ABOVE_NECK_MM, OUTLINE_ROWS = 60.0, 35.0, 32
EDGE_ROWS = 3  # a figure that begins so near the picture's edge is cut off
NOT_A_LANDMARK = ("heel",)
BELOW_WAIST = (*HIPS, *ANKLES, *HEELS)  # joints that are guessed where the picture cuts the legs off
LEAST_FACING = 0.22  # cosine between skin and camera: edge-on, a dot is a sliver; estimate
_STICKERS = {point.name for point in MARKED_POINTS.values()} - {"underarm_point"}  # the arm hides it


def pose_sightings(view: View, pose: Pose, mm_per_px: float) -> list[Sighting]:
    """What the pose model and the top of the outline show in one photo.

    Parameters
    ----------
    mm_per_px : float
        At the card; turns the table's millimetres into pixels.
    """
    found: list[Sighting] = []
    guessed = () if ankles_seen(pose) else BELOW_WAIST
    height, width = pose.mask.shape
    for point in seen_points():
        if not _used(point, view):
            continue
        if point.pose_point is not None and point.pose_point not in guessed and pose.visibility[point.pose_point] >= LEAST_SEEN:
            xy = pose.points_px[point.pose_point]
            if 0 <= xy[0] < width and 0 <= xy[1] < height:
                found.append(Sighting(point.name, point.side, view, "detected", xy, point.seen_sd_mm / mm_per_px, kind="pose"))
        if point.edge == "top":
            top = int(pose.mask.argmax()) // width  # the first row with anything of her, found without reading on
            if top >= EDGE_ROWS and pose.mask[top].any():
                xy = np.array([np.flatnonzero(pose.mask[top]).mean(), float(top)])
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


def outline_rows(body: Solution, view: View) -> Floats:
    """Picture rows, evenly from below the hip to the bare neck, where the outline tells how the body is shaped."""
    low, high = body.position("hip_side", "wearer_left")[1] - BELOW_HIP_MM, body.position("back_neck_point")[1] + ABOVE_NECK_MM
    ends = body.views[view].project(np.array([[0.0, high, 0.0], [0.0, low, 0.0]]))[:, 1]
    return np.linspace(ends[0], ends[1], OUTLINE_ROWS)


def seen_ties(sightings: Sequence[Sighting]) -> list[Tie]:
    """What ties the points seen beside a landmark to it."""
    names = {(s.name, s.side) for s in sightings}
    return [
        Tie(
            (point.name, point.side),
            point.anchor,
            point.offset_mm,
            point.sd_mm,
            on_floor=point.edge == "bottom",
            swung_by=point.swung_by if point.swing.any() else None,
            swing=point.swing,
            alike=point.alike,
        )
        for point in seen_points()
        if (point.name, point.side) in names
    ]


def unmarked(beside: Sequence[Sighting], stickers: Mapping[View, Sequence[Sighting]]) -> list[Sighting]:
    """Those that stand beside a point which no sticker marks: the best evidence counts alone, for what pose model and shading err by,
    they err by alike in all photos."""
    marked = {(s.name, s.side) for found in stickers.values() for s in found}
    anchors = {(p.name, p.side): p.anchor for p in seen_points()}
    return [s for s in beside if anchors.get((s.name, s.side)) not in marked]


def landmarks(body: Solution, sightings: Sequence[Sighting]) -> tuple[Landmark, ...]:
    """The solved body points as records, each with what it rests on."""
    found: list[Landmark] = []
    beside = {(p.name, p.side): p.anchor for p in seen_points()}
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
