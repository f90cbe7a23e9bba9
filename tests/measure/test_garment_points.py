"""Single points of seams, on a fitting whose places are known."""

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, SeamLine, Sighting
from fitcheck.measure.garment_points import garment_points

R = "wearer_right"


def square(centre, half=16.0):
    return np.array([[-half, -half], [half, -half], [half, half], [-half, half]]) + centre


@pytest.fixture(scope="module")
def standing():
    scale, points = rig.scale_at(), rig.body()
    return adjust(Evidence(dict.fromkeys(VIEWS, scale), rig.sightings(points, scale, {}))), scale, points


def seam(scale, start_mm, end_mm, view="right", name="shoulder", side=R):
    ends = rig.pixels(scale, view, np.stack([start_mm, end_mm]))
    share = np.linspace(0, 1, 30)[:, None]
    return SeamLine(name, side, view, ends[0] * (1 - share) + ends[1] * share, 0.4)


def test_the_outer_end_is_the_one_at_the_shoulder_point(standing):
    body, scale, points = standing
    neck, tip = points["side_neck_point", R], points["shoulder_point", R]
    for line in (seam(scale, neck, tip), seam(scale, tip, neck)):
        found = {s.name: s for s in garment_points(body, [line], []).sightings}
        assert found["shoulder_seam_tip"].xy_px == pytest.approx(rig.pixels(scale, "right", tip)[0], abs=0.5)
        assert found["shoulder_seam_neck"].xy_px == pytest.approx(rig.pixels(scale, "right", neck)[0], abs=0.5)
        assert not found["shoulder_seam_tip"].flags


def test_an_end_under_a_sticker_is_continued_and_says_so(standing):
    body, scale, points = standing
    neck, tip = points["side_neck_point", R] - [0, 0, 8], points["shoulder_point", R] - [0, 0, 8]
    stop = neck + 0.6 * (tip - neck)
    hidden = rig.pixels(scale, "right", stop)[0]
    sticker = Sighting("shoulder_point", R, "right", "marker", hidden, 0.5, corners_px=square(hidden))
    found = {s.name: s for s in garment_points(body, [seam(scale, neck, stop)], [sticker]).sightings}
    end = found["shoulder_seam_tip"]
    assert "seam_extended" in end.flags
    assert end.xy_px == pytest.approx(rig.pixels(scale, "right", tip)[0], abs=4)
    assert end.xy_px[0] == pytest.approx(rig.pixels(scale, "right", tip)[0][0], abs=1)
    assert end.sd_px > found["shoulder_seam_neck"].sd_px


def test_a_seam_that_ends_far_from_the_point_is_not_stretched_to_it(standing):
    body, scale, points = standing
    top = points["side_neck_point", R] + [0, 60, 0]
    line = seam(scale, top + [0, 60, 0], top)
    assert all("seam_extended" not in s.flags or s.sd_px > 2 for s in garment_points(body, [line], []).sightings)


def test_the_rim_of_the_armhole_is_not_the_shoulder_seam(standing):
    body, scale, points = standing
    behind = points["shoulder_point", R] + [0, -10, -45]
    rim = seam(scale, behind, behind + [0, -60, -35])
    assert garment_points(body, [rim], []).sightings == ()


def test_bust_mark_is_the_middle_of_its_bar(standing):
    body, scale, points = standing
    mark = points["bust_point", "wearer_left"] + [4, 12, 6]
    bar = seam(scale, mark - [28, 0, 0], mark + [28, 0, 0], "front", "bust_tick", "wearer_left")
    found = garment_points(body, [bar], []).sightings
    assert [s.name for s in found] == ["bust_mark"]
    assert found[0].xy_px == pytest.approx(rig.pixels(scale, "front", mark)[0], abs=0.3)


def test_waist_is_read_at_the_waist_point_across_its_sticker(standing):
    body, scale, points = standing
    waist = points["waist_front", None]
    line = seam(scale, waist + [-120, 7, 10], waist + [120, 7, 10], "front", "waist", None)
    at = rig.pixels(scale, "front", waist)[0]
    keep = np.abs(line.points_px[:, 0] - at[0]) > 16
    cut = SeamLine("waist", None, "front", line.points_px[keep], 0.4)
    found = garment_points(body, [cut], []).sightings
    expected = rig.pixels(scale, "front", waist + [0, 7, 10])[0]
    assert [s.name for s in found] == ["waist_seam_front"]
    assert found[0].xy_px == pytest.approx(expected, abs=1.5)


def test_a_stretch_bridged_under_a_sticker_is_doubted(standing):
    """The waist line kinks by 6 mm under the side's sticker; what was found bridges it, and the interval says so."""
    body, scale, points = standing
    waist = points["waist_side", R]
    at = rig.pixels(scale, "right", waist)[0]
    line = seam(scale, waist + [0, 6, -90], waist + [0, 6, 90], "right", "waist", None)
    sticker = Sighting("waist_side", R, "right", "marker", at, 0.5, corners_px=square(at))
    (bare,) = garment_points(body, [line], []).sightings
    (hidden,) = garment_points(body, [line], [sticker]).sightings
    assert hidden.xy_px == pytest.approx(bare.xy_px, abs=0.3)
    assert bare.sd_px == pytest.approx(0.4, abs=0.05)
    bend = 0.004 * (line.points_px[:, :1] - at[0]) ** 2 * [0.0, 1.0]
    curved = SeamLine("waist", None, "right", line.points_px + bend, 0.4)
    (doubted,) = garment_points(body, [curved], [sticker]).sightings
    assert doubted.sd_px > hidden.sd_px > bare.sd_px


def test_seen_from_the_front_a_shoulder_seam_ends_before_it_does(standing):
    """What bends away over the shoulder is added back, with a doubt as large; from the side nothing is."""
    body, scale, points = standing
    neck, tip = points["side_neck_point", R], points["shoulder_point", R]
    front = {s.name: s for s in garment_points(body, [seam(scale, neck, tip, "front")], []).sightings}["shoulder_seam_tip"]
    side = {s.name: s for s in garment_points(body, [seam(scale, neck, tip)], []).sightings}["shoulder_seam_tip"]
    seen = rig.pixels(scale, "front", np.stack([neck, tip]))
    outwards = (seen[1] - seen[0]) / np.linalg.norm(seen[1] - seen[0])
    assert (front.xy_px - seen[1]) @ outwards * scale.mm_per_px == pytest.approx(3.0, abs=0.3)
    assert front.sd_px > 2 * side.sd_px


def test_a_side_seam_lies_on_the_dressed_body(standing):
    """Where the body is broader the seam lies nearer to the camera: its ties follow the sections, at every level."""
    body, scale, points = standing
    top = points["underarm_point", R]
    ties = {tie.point[0]: tie for tie in garment_points(body, [seam(scale, top, top + [0, -450, 0], name="side")], []).ties}
    for name, tie in ties.items():
        anchor = body.position(*tie.anchor)
        assert tie.offset_mm[1:] == pytest.approx([0, 0])
        reach = -(anchor[0] + tie.offset_mm[0])
        assert body.section_reach_mm.min() < reach < body.section_reach_mm.max(), name
    waist, hip = (-(body.position(f"{name}_side", R)[0] + ties[f"side_seam_{name}"].offset_mm[0]) for name in ("waist", "hip"))
    assert hip > waist + 20
    levels = [ties[f"side_seam_{i}"].offset_mm[0] for i in range(6)]
    assert np.ptp(levels) > 20


def test_a_short_line_is_a_bust_mark_only_with_its_like_on_the_other_side(standing):
    body, scale, points = standing
    left, right = points["bust_point", "wearer_left"] + [4, 12, 6], points["bust_point", R] + [-4, 16, 6]
    short = seam(scale, left, left + [20, 0, 0], "front", "bust_tick", "wearer_left")
    like = seam(scale, right - [20, 0, 0], right, "front", "bust_tick", R)
    slanting = seam(scale, left, left + [50, 30, 0], "front", "bust_tick", "wearer_left")
    assert len(garment_points(body, [short, like], []).sightings) == 2
    assert garment_points(body, [short], []).sightings == ()
    assert garment_points(body, [slanting], []).sightings == ()


def test_a_piece_of_a_bar_does_not_tell_where_its_middle_is(standing):
    """A bar of 50 mm of which 15 are seen: the mark may lie 17.5 mm to either side; its height is seen as before."""
    body, scale, points = standing
    mark = points["bust_point", R]
    whole = seam(scale, mark - [25, 0, 0], mark + [25, 0, 0], "front", "bust_tick", R)
    piece = seam(scale, mark + [10, 0, 0], mark + [25, 0, 0], "front", "bust_tick", R)
    alike = seam(
        scale, points["bust_point", "wearer_left"], points["bust_point", "wearer_left"] + [15, 0, 0], "front", "bust_tick", "wearer_left"
    )
    mm_per_px = body.views["front"].mm_per_px(mark)
    found = [{(s.name, s.side): s for s in garment_points(body, lines, []).sightings} for lines in ([whole], [piece, alike])]
    sd_mm = [one["bust_mark", R].sd_px * mm_per_px for one in found]
    assert sd_mm[0] < 1.5
    assert 17.5 / 2 < sd_mm[1] < 17.5


def test_the_outer_end_of_a_bar_under_a_sticker_is_the_bust_mark(standing):
    body, scale, points = standing
    mark = points["bust_point", "wearer_left"] + [4, 22, 6]
    princess = seam(scale, mark - [0, 20, 0], mark - [0, 200, 0], "front", "princess", "wearer_left")
    end = seam(scale, mark + [18, 0, 0], mark + [26, 0, 0], "front", "bust_tick", "wearer_left")
    (found,) = garment_points(body, [princess, end], []).sightings
    assert found.xy_px == pytest.approx(rig.pixels(scale, "front", mark)[0], abs=1.0)


def test_a_dart_is_not_the_bar_of_the_bust_mark(standing):
    body, scale, points = standing
    mark = points["bust_point", "wearer_left"] + [4, 12, 6]
    princess = seam(scale, mark, mark - [0, 200, 0], "front", "princess", "wearer_left")
    dart = seam(scale, mark + [35, -15, 0], mark + [85, -25, 0], "front", "bust_tick", "wearer_left")
    (found,) = garment_points(body, [princess, dart], []).sightings
    assert found.xy_px == pytest.approx(rig.pixels(scale, "front", mark)[0], abs=0.5)


@pytest.mark.parametrize(("lost_mm", "sides"), [(10.0, ["wearer_left", R]), (45.0, [R])])
def test_a_princess_line_whose_upper_part_was_not_seen_tells_no_mark(standing, lost_mm, sides):
    """Ending far below the other side's bar, it is broken off; a little below, it may be her figure."""
    body, scale, points = standing
    lines = []
    for side in ("wearer_left", R):
        mark = points["bust_point", side] + [0, 8, 6]
        top = mark - [0, lost_mm, 0] if side == "wearer_left" else mark
        lines.append(seam(scale, top, mark - [0, 200, 0], "front", "princess", side))
    mark = points["bust_point", R] + [0, 8, 6]
    lines.append(seam(scale, mark - [25, 0, 0], mark + [25, 0, 0], "front", "bust_tick", R))
    assert [s.side for s in garment_points(body, lines, []).sightings if s.name == "bust_mark"] == sides
    assert [s.side for s in garment_points(body, lines[:2], []).sightings if s.name == "bust_mark"] == sides


def test_a_line_far_behind_the_side_is_not_the_side_seam(standing):
    body, scale, points = standing
    top = points["underarm_point", R]
    side, behind = (seam(scale, top + [0, 0, z], top + [0, -450, z], name="side") for z in (-15, -75))
    assert {s.name for s in garment_points(body, [side], []).sightings} >= {"side_seam_waist", "side_seam_5"}
    assert garment_points(body, [behind], []).sightings == ()


@pytest.mark.parametrize("side", ["wearer_left", R])
def test_where_a_point_is_looked_for_when_its_photo_shows_no_depth(standing, side):
    """The seam's end lies a little outside and above the bone, the mark on the cloth before the bust point."""
    body, scale, points = standing
    view, out = ("left", 1) if side == "wearer_left" else ("right", -1)
    shoulder = seam(scale, points["side_neck_point", side], points["shoulder_point", side], view, side=side)
    mark = points["bust_point", side]
    bar = seam(scale, mark - [28, 0, 0], mark + [28, 0, 0], "front", "bust_tick", side)
    ties = {tie.point: tie for tie in garment_points(body, [shoulder, bar], []).ties}
    tip, bust = ties["shoulder_seam_tip", side], ties["bust_mark", side]
    assert tip.anchor == ("shoulder_point", side)
    assert (tip.offset_mm * [out, 1, 1]).tolist() == [2, 4, 0]
    assert bust.anchor == ("bust_point", side)
    assert bust.offset_mm.tolist() == [0, 0, 6]


def bar_at(scale, points, side, out_mm, up_mm):
    mark = points["bust_point", side] + [out_mm if side == "wearer_left" else -out_mm, up_mm, 6]
    return seam(scale, mark - [28, 0, 0], mark + [28, 0, 0], "front", "bust_tick", side)


@pytest.mark.parametrize(
    ("left", "right", "marks"),
    [
        ((2, 20), None, 1),  # a half tissue has one mark
        ((0, 40), None, 0),  # one pleat, far from the bust point
        ((5, 40), (8, 32), 2),  # both far and alike: the pattern's bust point lies high
        ((0, 20), (0, -25), 0),  # a mark on one side, a pocket on the other: which is which nothing tells
        ((25, 10), (-20, 10), 0),  # both shifted the same way in the picture, not outwards
    ],
)
def test_bust_marks_lie_alike_on_both_sides(standing, left, right, marks):
    body, scale, points = standing
    sides = {"wearer_left": left, R: right}
    bars = [bar_at(scale, points, side, *at) for side, at in sides.items() if at]
    found = garment_points(body, bars, [])
    assert len(found.sightings) == len(found.ties) == marks


@pytest.mark.parametrize(("off_mm", "read"), [(0, True), (25, True), (-25, True), (60, False), (-60, False)])
def test_a_line_far_from_her_middle_is_no_centre_line(standing, off_mm, read):
    body, scale, points = standing
    waist = points["waist_front", None]
    line = seam(scale, waist + [off_mm, 250, 0], waist + [off_mm, -150, 0], "front", "centre_front", None)
    assert bool(garment_points(body, [line], []).sightings) == read


def test_the_edges_of_an_opened_front_may_lie_farther_apart(standing):
    body, scale, points = standing
    waist = points["waist_front", None]
    left, right = (waist + [x, 0, 0] for x in (60, -60))
    edges = [seam(scale, at + [0, 250, 0], at + [0, -150, 0], "front", "centre_front", s) for at, s in ((left, "wearer_left"), (right, R))]
    assert {s.side for s in garment_points(body, edges, []).sightings} == {"wearer_left", R}


def test_a_waist_is_one_ring(standing):
    """A hem below the waist in one photo, where the others show the waist line, is no waist line."""
    body, scale, points = standing
    lines = []
    for at, view, side, way in (
        ("front", "front", None, [120, 0, 0]),
        ("back", "back", None, [120, 0, 0]),
        ("side", "right", R, [0, 0, 60]),
    ):
        waist = points[f"waist_{at}", side] + [0, 6 if at != "back" else -48, 0]
        lines.append(seam(scale, waist - way, waist + way, view, "waist", None))
    assert {s.name for s in garment_points(body, lines, []).sightings} == {"waist_seam_front", "waist_seam_side"}
    assert {s.name for s in garment_points(body, lines[:2], []).sightings} == {"waist_seam_front", "waist_seam_back"}
