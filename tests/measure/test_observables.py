"""Signs and amounts of the observables on a rig: the garment is put off the body by known millimetres."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, SeamLine
from fitcheck.measure.garment_points import garment_points
from fitcheck.measure.observables import measure

R, L = "wearer_right", "wearer_left"


def fitting(lines, turns=None, points=None, half=None, grade="marker"):
    """Measure a rig fitting whose seams run through the given body-frame points."""
    scale = rig.scale_at()
    points = points or rig.body()
    turns = turns or {}
    seams = []
    for name, side, view, ends in lines:
        px = rig.pixels(scale, view, np.stack(ends), turns.get(view, 0.0))
        share = np.linspace(0, 1, 60)[:, None] * (len(px) - 1)
        curve = np.column_stack([np.interp(share[:, 0], range(len(px)), px[:, axis]) for axis in (0, 1)])
        seams.append(SeamLine(name, side, view, curve, 0.3))
    seen = [replace(s, grade=grade) for s in rig.sightings(points, scale, turns)]
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), seen))
    garment = garment_points(body, seams, seen)
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), [*seen, *garment.sightings], garment.ties))
    measurements, unmeasured = measure(body, [*seen, *garment.sightings], half)
    return {m.key: m for m in measurements}, {u.key: u for u in unmeasured}


def scale_mm_per_px(name, side):
    """Millimetres to a pixel at a body point in the front photo: its distance over the focal length of 3000 pixels."""
    return (2900.0 - 15.0 - rig.body()[name, side][2]) / 3000.0


def shoulder_line(points, side, behind_mm):
    """From a neckline 11 mm outside the side neck point to the shoulder point, 3 mm above the skin."""
    off = np.array([0.0, 3.0, -behind_mm])
    neck, tip = points["side_neck_point", side], points["shoulder_point", side]
    return [neck + 0.11 * (tip - neck) + off, tip + off]


@pytest.mark.parametrize("turn_deg", [0.0, 3.0, -3.0])
@pytest.mark.parametrize("behind_mm", [-6.0, 0.0, 11.0])
def test_shoulder_seam_behind_whatever_the_turn(behind_mm, turn_deg):
    points = rig.body()
    lines = [("shoulder", R, "right", shoulder_line(points, R, behind_mm)), ("shoulder", L, "left", shoulder_line(points, L, behind_mm))]
    found, _ = fitting(lines, {"right": turn_deg, "left": turn_deg})
    for side in "LR":
        tip, neck = found[f"shoulder_seam_behind_tip_{side}"], found[f"shoulder_seam_behind_neck_{side}"]
        assert tip.value == pytest.approx(behind_mm, abs=1.0)
        assert neck.value == pytest.approx(behind_mm, abs=1.5)
        assert 0.3 < tip.sd < 2.5
        assert tip.sd**2 == pytest.approx(sum(sd**2 for sd in tip.sources.values()), rel=0.02)


def test_an_end_of_a_shoulder_that_nobody_felt_for_is_meant_less_exactly():
    """The same picture, once with stickers and once without: the tip then has 2.5 mm of doubt of what is meant by it, the neck has none."""
    lines = [("shoulder", R, "right", shoulder_line(rig.body(), R, 0.0)), ("shoulder", L, "left", shoulder_line(rig.body(), L, 0.0))]
    felt, unfelt = (fitting(lines, grade=grade)[0] for grade in ("marker", "detected"))
    assert felt["shoulder_seam_behind_tip_L"].sources.get("definition", 0.0) < 2.0
    assert unfelt["shoulder_seam_behind_tip_L"].sources["definition"] >= 2.5
    assert unfelt["shoulder_seam_behind_neck_L"].sources.get("definition", 0.0) < 2.0


def test_waist_and_bust_marks_have_the_right_sign():
    points = rig.body()
    waist, bust = points["waist_front", None], points["bust_point", L]
    lines = [
        ("waist", None, "front", [waist + [-120, 9, 8], waist + [120, 9, 8]]),
        ("bust_tick", L, "front", [bust + [7 - 28, -12, 6], bust + [7 + 28, -12, 6]]),
    ]
    found, missing = fitting(lines)
    assert found["waist_mark_above_front"].value == pytest.approx(9, abs=1.5)
    assert found["bust_mark_above_L"].value == pytest.approx(-12, abs=1.5)
    # the gap is drawn from the body to the garment: in the picture up to the waist line, down to the mark
    up, down = (found[key].to_px - found[key].from_px for key in ("waist_mark_above_front", "bust_mark_above_L"))
    assert up[1] == pytest.approx(-9 / scale_mm_per_px("waist_front", None), abs=1.5)
    assert down[1] == pytest.approx(12 / scale_mm_per_px("bust_point", L), abs=1.5)
    assert down[0] == pytest.approx(7 / scale_mm_per_px("bust_point", L), abs=1.5)  # her left is at image right
    assert found["bust_mark_outside_L"].value == pytest.approx(7, abs=1.5)
    assert "not found in the front photo" in missing["bust_mark_above_R"].why


def test_side_seam_tilt_is_against_plumb():
    """40 mm forward over 400 mm down is atan(0.1) = 5.71 degrees, lower end forward, also along a waisted body."""
    points = rig.body()
    top = points["underarm_point", R]
    waist, hip = (points[f"{name}_side", R][0] for name in ("waist", "hip"))
    heights = [top[1], points["waist_side", R][1], top[1] - 400]
    on_body = [np.array([x - 5, y, top[2] + 0.1 * (top[1] - y)]) for x, y in zip((top[0], waist, hip), heights, strict=True)]
    found, _ = fitting([("side", R, "right", on_body)])
    assert found["side_seam_tilt_R"].value == pytest.approx(5.71, abs=0.3)
    assert found["side_seam_tilt_R"].unit == "deg"


def test_an_open_front_gives_half_the_gap():
    points = rig.body()
    top, hem = points["bust_point", L] * [0, 1, 1] + [0, 60, -15], points["hip_side", L] * [0, 1, 0] + [0, -60, 90]
    lines = [("centre_front", side, "front", [top + [sign * 9, 0, 0], hem + [sign * 9, 0, 0]]) for side, sign in ((L, 1), (R, -1))]
    found, _ = fitting(lines)
    assert found["centre_front_short_bust"].value == pytest.approx(9, abs=0.7)


def test_lower_right_shoulder():
    found, _ = fitting([], points=rig.body(shoulder_point_R=[0, -10, 0]))
    assert found["shoulder_height_difference"].value == pytest.approx(10, abs=3)


def test_without_seams_every_gap_is_listed_with_its_reason():
    found, missing = fitting([])
    assert "shoulder_seam_behind_tip_L" in missing
    assert set(found) == {"shoulder_height_difference"}
    assert all(u.why.endswith(".") for u in missing.values())


def half_lines(side, front_mm, back_mm, waist_end_mm=0.0):
    """Centre lines of a half tissue, `front_mm` and `back_mm` off the middle towards its side at every height, and its waist line.

    It spans from breast to breast, from blade to blade, and over the cleft of the seat.
    """
    points = rig.body()
    sign = 1 if side == L else -1
    waist, back = points["waist_front", None], points["waist_back", None]
    hip_y, neck_y = points["hip_side", L][1] - 40, points["front_neck_point", None][1] - 30
    bust = points["bust_point", L] * [0, 1, 1]
    front = [np.array([sign * front_mm, y, z]) for y, z in ((neck_y, bust[2] - 40), (bust[1], bust[2] - 4), (waist[1], waist[2]))]
    front.append(np.array([sign * front_mm, hip_y, waist[2] - 5]))
    blade, seat = points["shoulder_blade", L], points["seat", None]
    depths = ((neck_y, blade[2]), (blade[1], blade[2] - 5), (back[1], back[2] - 5), (seat[1], seat[2] - 14), (hip_y, seat[2] - 14))
    behind = [np.array([sign * back_mm, y, z]) for y, z in depths]
    name = "centre_front", "centre_back"
    level = waist + [0, 9, 4]
    return [
        (name[0], side, "front", front),
        (name[1], side, "back", behind),
        ("waist", None, "front", [level + [sign * waist_end_mm, 0, 0], level + [sign * 130, 0, -60]]),
    ]


@pytest.mark.parametrize("side", [R, L])
@pytest.mark.parametrize(("front_mm", "back_mm"), [(12.0, 0.0), (-8.0, 5.0), (0.0, 20.0)])
def test_a_half_tissue_short_of_the_middle_or_beyond_it(side, front_mm, back_mm):
    found, missing = fitting(half_lines(side, front_mm, back_mm), half=side)
    end = "L" if side == L else "R"
    for level in ("chest", "bust", "waist", "hip"):
        assert found[f"centre_front_short_{level}_{end}"].value == pytest.approx(front_mm, abs=1.0), level
    for level in ("blade", "bust", "waist", "hip"):
        assert found[f"centre_back_short_{level}_{end}"].value == pytest.approx(back_mm, abs=1.0), level
    assert 0.5 < found[f"centre_front_short_waist_{end}"].sd < 3.0
    assert not [key for key in (*found, *missing) if "_left_" in key or key.endswith("_L" if side == R else "_R")]


def test_of_a_half_tissue_the_waist_counts_at_its_end_that_stays_short():
    found, _ = fitting(half_lines(R, 15.0, 0.0, waist_end_mm=15.0), half=R)
    assert found["waist_mark_above_front"].value == pytest.approx(9, abs=1.5)
    closed = [line for line in half_lines(R, 15.0, 0.0, waist_end_mm=15.0) if line[0] == "waist"]
    assert "waist_mark_above_front" not in fitting(closed)[0]


def test_the_other_side_of_her_is_measured_all_the_same():
    found, _ = fitting(half_lines(R, 0.0, 0.0), points=rig.body(shoulder_point_L=[0, -8, 0]), half=R)
    assert found["shoulder_height_difference"].value == pytest.approx(-8, abs=3)
