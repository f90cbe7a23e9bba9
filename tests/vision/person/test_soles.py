"""The feet's lower edge: exact on drawn feet, absent where it cannot be seen, and the floor of the sample scenes."""

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from vision.samples import sample

from fitcheck.core.records import SIDE_VIEW, Pose
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.person.soles import find_soles

SOLES = {"wearer_left": 351.3, "wearer_right": 347.8}
SAMPLES = Path(__file__).parents[3] / "sample_images"


def drawn_feet(view="front", floor_grey=190, cut_at=400):
    """Two feet 40 px broad on a plain floor, at 0.5 px per mm; the mask ends 2 px above the soles."""
    rgb, mask = np.full((400, 240, 3), floor_grey, np.uint8), np.zeros((400, 240), bool)
    points = np.full((33, 2), 100.0)
    for side, middle, numbers in (("wearer_left", 160, (29, 31)), ("wearer_right", 80, (30, 32))):
        rows = np.arange(400)
        share = np.clip(SOLES[side] - (rows - 0.5), 0, 1)  # pixel r covers r - 0.5 .. r + 0.5
        grey = (floor_grey + (90 - floor_grey) * share)[:, None, None]
        part = slice(middle - 20, middle + 21)
        rgb[250:, part] = np.broadcast_to(grey, (400, 41, 3))[250:].round().astype(np.uint8)
        mask[200 : round(SOLES[side]) - 2, part] = True
        points[list(numbers)] = [[middle, 330], [middle, 345]] if view in ("front", "back") else [[middle - 18, 335], [middle + 18, 345]]
    points[0] = [100, 20]
    body = np.column_stack([points * 2, np.zeros(33)])
    return rgb[:cut_at], Pose(points, body, np.ones(33), mask[:cut_at])


@pytest.mark.parametrize("view", ["front", "back"])
def test_drawn_soles_to_half_a_pixel(view):
    found = {s.side: s for s in find_soles(*drawn_feet(view), view)}
    assert {s.name for s in found.values()} == {f"sole_from_{view}"}
    for side, row in SOLES.items():
        assert found[side].xy_px[1] == pytest.approx(row, abs=0.5)
        assert found[side].kind == "outline_bottom"


@pytest.mark.parametrize(("view", "near"), [("right", "wearer_right"), ("left", "wearer_left")])
def test_from_the_side_only_the_near_foot_counts(view, near):
    assert SIDE_VIEW[near] == view
    (found,) = find_soles(*drawn_feet(view), view)
    assert (found.name, found.side) == ("sole_from_side", near)
    assert found.xy_px[1] == pytest.approx(SOLES[near], abs=0.5)


def test_feet_cut_off_by_the_picture_or_without_an_edge_say_nothing():
    assert find_soles(*drawn_feet(cut_at=344), "front") == ()
    assert find_soles(*drawn_feet(floor_grey=90), "front") == ()


def test_feet_the_pose_did_not_see_say_nothing():
    rgb, pose = drawn_feet()
    hidden = Pose(pose.points_px, pose.points_mm, np.where(np.isin(np.arange(33), (30, 32)), 0.1, 1.0), pose.mask)
    assert [s.side for s in find_soles(rgb, hidden, "front")] == ["wearer_left"]


@pytest.mark.parametrize("scene", ["control", "forward_shoulder"])
def test_heels_stand_on_the_floor_of_the_sample_scenes(scene):
    """Seen from behind, the heel ends where the true camera shows the floor 14 mm before the back of the heel (`body/landmarks.toml`)."""
    photo = sample(scene, "back")
    found = find_soles(photo.rgb, find_people(photo), "back")
    view = json.loads((SAMPLES / scene / "truth.json").read_text())["views"]["back"]
    camera, turn, shift = view["camera"], np.array(view["subject_R"]), np.array(view["subject_t_mm"])
    rows = []
    for y_mm in (30.0, 110.0):  # no heel of these bodies lies outside (subject frame, + is backward)
        at = np.array(camera["R_world_to_cam"]) @ (turn @ [0.0, y_mm, 0.0] + shift) + np.array(camera["t_mm"])
        rows.append(cv2.projectPoints(at[None], np.zeros(3), np.zeros(3), np.array(camera["K"]), np.array(camera["dist"]))[0][0, 0, 1])
    assert len(found) == 2
    assert abs(found[0].xy_px[1] - found[1].xy_px[1]) < 6
    for s in found:
        assert rows[0] < s.xy_px[1] < rows[1]
