"""Points from the pose, the outline and stickers: which are used, where, and how doubt is told."""

import numpy as np
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.landmarks import _used, landmarks, outline_rows, pose_sightings, seen_ties, unmarked
from fitcheck.body.point_table import body_points, seen_points
from fitcheck.body.shape import body_shape
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, Pose, Sighting


def standing_pose(view="front"):
    """A pose whose joints lie where the table says they are seen, on an otherwise empty picture."""
    points = rig.body()
    scale = rig.scale_at()
    px = np.full((33, 2), 700.0)
    for seen in seen_points():
        if seen.pose_point is not None and _used(seen, view):
            px[seen.pose_point] = rig.pixels(scale, view, points[seen.anchor] + seen.offset_mm)[0]
    mask = np.zeros((2000, 1500), bool)
    top = rig.pixels(scale, view, points["crown", None] + [0, 14, 0])[0]
    mask[round(top[1]) : 1900, int(top[0]) - 60 : int(top[0]) + 61] = True
    return Pose(px, np.zeros((33, 3)), np.ones(33), mask), scale


def test_the_table_names_every_sticker_point_but_the_garments():
    from fitcheck.core.points import MARKED_POINTS

    assert {p.name for p in MARKED_POINTS.values()} - {"garment_bust_mark"} <= {name for name, _ in body_points()}


def test_right_is_the_mirror_of_left():
    for (name, side), point in body_points().items():
        if side == "wearer_left":
            mirrored = body_points()[name, "wearer_right"]
            assert np.allclose(mirrored.normal, point.normal * [-1, 1, 1])


def test_side_views_use_the_near_side_only():
    pose, scale = standing_pose("right")
    found = {(s.name, s.side) for s in pose_sightings("right", pose, scale.mm_per_px)}
    assert ("shoulder_joint_from_side", "wearer_right") in found
    assert ("ear_as_seen", "wearer_right") in found
    assert all(side != "wearer_left" for _, side in found)


def test_invisible_and_outside_joints_are_not_used():
    pose, scale = standing_pose()
    hidden = Pose(pose.points_px, pose.points_mm, np.where(np.arange(33) == 11, 0.1, 1.0), pose.mask)
    assert ("shoulder_joint_from_front", "wearer_left") not in {(s.name, s.side) for s in pose_sightings("front", hidden, scale.mm_per_px)}
    away = pose.points_px.copy()
    away[12] = (-30, 400)
    outside = Pose(away, pose.points_mm, pose.visibility, pose.mask)
    assert ("shoulder_joint_from_front", "wearer_right") not in {
        (s.name, s.side) for s in pose_sightings("front", outside, scale.mm_per_px)
    }


def test_a_sticker_makes_the_pose_beside_it_superfluous():
    pose, scale = standing_pose()
    beside = pose_sightings("front", pose, scale.mm_per_px)
    sticker = Sighting("shoulder_point", "wearer_left", "right", "marker", np.array([700.0, 500.0]), 0.3)
    gone = {(s.name, s.side) for s in beside} - {(s.name, s.side) for s in unmarked(beside, {"right": [sticker], "back": []})}
    assert gone == {("shoulder_joint_from_front", "wearer_left")}
    assert unmarked(beside, {}) == beside


def test_pose_alone_places_the_body_with_honest_doubt():
    scale = rig.scale_at()
    seen = [s for view in VIEWS for s in pose_sightings(view, standing_pose(view)[0], scale.mm_per_px)]
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen, seen_ties(seen)))
    truth = rig.body()
    for key in (("shoulder_point", "wearer_left"), ("hip_side", "wearer_right"), ("crown", None)):
        error = body.position(*key) - truth[key]
        assert np.all(np.abs(error) < 2.5 * body.sd(*key)), key
    assert body.sd("shoulder_point", "wearer_left")[0] > 3
    records = {(r.name, r.side): r for r in landmarks(body, seen)}
    assert "marker_missing" in records["shoulder_point", "wearer_left"].flags
    assert ("heel", "wearer_left") not in records


def test_outline_rows_reach_from_below_the_hip_to_the_bare_neck():
    scale, points = rig.scale_at(), rig.body()
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), rig.sightings(points, scale, {})))
    for view in VIEWS:
        rows = outline_rows(body, view)
        hip, neck = (rig.pixels(scale, view, points[key])[0, 1] for key in (("hip_side", "wearer_left"), ("back_neck_point", None)))
        assert rows[0] < neck < hip < rows[-1]
        assert np.all(np.diff(rows) > 0)


def test_outlines_make_a_body_without_stickers_surer():
    """Pose and outlines of a plump body: where her waist lies in depth follows from the outline."""
    scale = rig.scale_at()
    seen = [s for view in VIEWS for s in pose_sightings(view, standing_pose(view)[0], scale.mm_per_px)]
    without = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen, seen_ties(seen)))
    usual = np.zeros(body_shape().size)
    outlines = {view: rig.outline(scale, view, usual, outline_rows(without, view)) for view in VIEWS}
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen, seen_ties(seen), outlines), without)
    for name in ("waist_front", "waist_back", "seat"):
        assert body.sd(name)[2] < 0.6 * without.sd(name)[2]
        assert np.all(np.abs(body.position(name) - rig.body()[name, None]) < 2.5 * body.sd(name))
