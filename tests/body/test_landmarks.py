"""Points from the pose, the outline and stickers: which are used, where, and how doubt is told."""

import numpy as np
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.landmarks import landmarks, outline_rows, outline_sightings, pose_sightings, seen_ties
from fitcheck.body.proportions import body_points, seen_points
from fitcheck.core.records import VIEWS, Pose


def standing_pose(view="front"):
    """A pose whose joints lie where the table says they are seen, on an otherwise empty picture."""
    points = rig.body()
    scale = rig.scale_at()
    px = np.full((33, 2), 700.0)
    for seen in seen_points():
        if seen.pose_point is not None:
            at = points[seen.anchor] + seen.offset_mm if seen.anchor else points[seen.name, seen.side]
            px[seen.pose_point] = rig.pixels(scale, view, at)[0]
    mask = np.zeros((2000, 1500), bool)
    top = rig.pixels(scale, view, points["crown", None] + [0, 15, 0])[0]
    mask[round(top[1]) : 1900, int(top[0]) - 60 : int(top[0]) + 61] = True
    return Pose(px, np.zeros((33, 3)), np.ones(33), mask), scale


def test_the_table_names_every_sticker_point_but_the_garments():
    from fitcheck.core.points import MARKED_POINTS

    assert {p.name for p in MARKED_POINTS.values()} - {"garment_bust_mark"} <= {name for name, _ in body_points()}


def test_right_is_the_mirror_of_left():
    for (name, side), point in body_points().items():
        if side == "wearer_left":
            mirrored = body_points()[name, "wearer_right"]
            assert np.allclose(mirrored.position_mm, point.position_mm * [-1, 1, 1])
            assert np.allclose(mirrored.normal, point.normal * [-1, 1, 1])


def test_side_views_use_the_near_side_only():
    pose, scale = standing_pose("right")
    found = {(s.name, s.side) for s in pose_sightings("right", pose, scale.mm_per_px)}
    assert ("shoulder_joint", "wearer_right") in found
    assert ("ear_as_seen", "wearer_right") in found
    assert all(side != "wearer_left" for _, side in found)


def test_invisible_and_outside_joints_are_not_used():
    pose, scale = standing_pose()
    hidden = Pose(pose.points_px, pose.points_mm, np.where(np.arange(33) == 11, 0.1, 1.0), pose.mask)
    assert ("shoulder_joint", "wearer_left") not in {(s.name, s.side) for s in pose_sightings("front", hidden, scale.mm_per_px)}
    away = pose.points_px.copy()
    away[12] = (-30, 400)
    outside = Pose(away, pose.points_mm, pose.visibility, pose.mask)
    assert ("shoulder_joint", "wearer_right") not in {(s.name, s.side) for s in pose_sightings("front", outside, scale.mm_per_px)}


def test_pose_alone_places_the_body_with_honest_doubt():
    scale = rig.scale_at()
    seen = [s for view in VIEWS for s in pose_sightings(view, standing_pose(view)[0], scale.mm_per_px)]
    body = adjust(dict.fromkeys(VIEWS, scale), seen, seen_ties(seen))
    truth = rig.body()
    for key in (("shoulder_point", "wearer_left"), ("hip_side", "wearer_right"), ("crown", None)):
        error = body.position(*key) - truth[key]
        assert np.all(np.abs(error) < 2.5 * body.sd(*key)), key
    assert body.sd("shoulder_point", "wearer_left")[0] > 3
    records = {(r.name, r.side): r for r in landmarks(body, seen)}
    assert "marker_missing" in records["shoulder_point", "wearer_left"].flags
    assert ("heel", "wearer_left") not in records


def test_outline_gives_the_depth_that_the_front_view_cannot():
    """A belly 30 mm further forward than usual is seen at the profile's edge of both side views."""
    points = rig.body(waist_front=[0, 0, 30], waist_back=[0, 0, 0])
    scale = rig.scale_at()
    seen = rig.sightings(points, scale, {})
    without = adjust(dict.fromkeys(VIEWS, scale), seen)
    for view in ("right", "left"):
        rows = [(p, row) for p, row in outline_rows(without, view) if p.name == "waist_front_profile"]
        edge = rig.pixels(scale, view, points["waist_front", None] + [0, 0, 14])[0]
        far = np.array([np.nan])
        front = np.array([edge[0]])
        left, right = (front, far) if view == "left" else (far, front)
        seen += outline_sightings(view, rows, left, right, np.array([1.0]))
    body = adjust(dict.fromkeys(VIEWS, scale), seen, seen_ties(seen))
    error = abs(body.position("waist_front")[2] - points["waist_front", None][2])
    assert error < abs(without.position("waist_front")[2] - points["waist_front", None][2]) / 2
    assert error < 2 * body.sd("waist_front")[2] < 2 * without.sd("waist_front")[2]
    assert all(np.isfinite(s.xy_px).all() for s in seen)
