"""Seams of the sample fittings against their truth: found where they are, by their right name, on the right side."""

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
from vision.drawn_seams import frame, straight
from vision.samples import sample, truth

from fitcheck.core.records import VIEWS, Pose, SeamLine, Sighting
from fitcheck.vision.lines.seams import find_seams, hidden_by, name_seams
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers

SCENES = ("control", "forward_shoulder")
SUFFIX = {None: "", "wearer_left": "_L", "wearer_right": "_R"}
NEAR_SIDE = {"right": "_R", "left": "_L"}


def person(scene: str, view: str) -> Pose:
    found = find_people(sample(scene, view))
    assert found is not None
    return found


@cache
def seams(scene: str, view: str) -> dict[str, SeamLine]:
    photo, pose = sample(scene, view), person(scene, view)
    card = np.concatenate([np.array(c) for c in truth(scene)["views"][view]["card"]["corners_px"].values()])
    stickers = find_point_markers(photo, cv2.convexHull(card.astype(np.float32))[:, 0], pose)
    lines = find_seams(photo, pose, stickers, 0.9)
    assert len({(line.name, line.side) for line in lines}) == len(lines)
    return {line.name + SUFFIX[line.side]: line for line in lines}


def dense(points: np.ndarray, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    s = np.r_[0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    t = np.arange(0, s[-1], 0.5)
    return np.stack([np.interp(t, s, points[:, i]) for i in (0, 1)], 1), np.interp(t, s, values)


def compare(scene: str, view: str, key: str) -> tuple[float, np.ndarray]:
    """Share of the visible length that was found, and the distances of what was found from the truth."""
    line = truth(scene)["views"][view]["seams"][key]
    true, seen = dense(np.array(line["px"]), np.array(line["visible"], float))
    mine = dense(seams(scene, view)[key].points_px, np.zeros(len(seams(scene, view)[key].points_px)))[0]
    gaps = np.hypot(*(true[:, None] - mine[None]).transpose(2, 0, 1))
    return float((gaps.min(1)[seen > 0.75] < 4).mean()), gaps.min(0)


MAIN = [
    *((view, key) for view in ("right", "left") for key in ("shoulder", "side", "waist", "princess")),
    *(("front", key) for key in ("centre_front", "waist", "princess_L", "princess_R", "bust_tick_L", "bust_tick_R")),
    *(("back", key) for key in ("centre_back", "waist", "princess_back_L", "princess_back_R")),
]


@pytest.mark.parametrize("scene", SCENES)
@pytest.mark.parametrize(("view", "key"), MAIN)
def test_main_seams_are_found_where_they_are(scene: str, view: str, key: str) -> None:
    key += NEAR_SIDE.get(view, "") if key != "waist" else ""
    share, off = compare(scene, view, key)
    assert share > (0.6 if key.startswith("princess_") and view in NEAR_SIDE else 0.85)
    assert np.median(off) < 0.6
    assert np.percentile(off, 95) < 2.0


@pytest.mark.parametrize("scene", SCENES)
@pytest.mark.parametrize("view", VIEWS)
def test_no_seam_has_a_wrong_name(scene: str, view: str) -> None:
    for key, line in seams(scene, view).items():
        true = dense(
            np.array(truth(scene)["views"][view]["seams"][key]["px"]), np.zeros(len(truth(scene)["views"][view]["seams"][key]["px"]))
        )[0]
        off = np.hypot(*(line.points_px[:, None] - true[None]).transpose(2, 0, 1)).min(1)
        assert (off < 6).all(), key


@pytest.mark.parametrize("scene", SCENES)
def test_the_sd_covers_the_error(scene: str) -> None:
    ratios = [compare(scene, view, key)[1] / line.sd_px for view in VIEWS for key, line in seams(scene, view).items()]
    all_ratios = np.concatenate(ratios)
    assert (all_ratios < 2).mean() > 0.9
    assert (all_ratios < 1).mean() < 0.95


@pytest.mark.parametrize("scene", SCENES)
def test_seams_run_from_top_or_image_left(scene: str) -> None:
    for view in VIEWS:
        for line in seams(scene, view).values():
            first, last = line.points_px[0], line.points_px[-1]
            axis = int(np.ptp(line.points_px[:, 1]) > np.ptp(line.points_px[:, 0]))
            assert first[axis] < last[axis]


def test_names_do_not_need_stickers() -> None:
    photo = sample("forward_shoulder", "right")
    found = {line.name: line for line in find_seams(photo, person("forward_shoulder", "right"), (), 0.9)}
    assert {"shoulder", "side", "waist", "princess", "dart"} <= found.keys()
    true = np.array(truth("forward_shoulder")["views"]["right"]["seams"]["side_R"]["px"])
    assert np.median(np.abs(np.interp(found["side"].points_px[:, 1], true[::-1, 1], true[::-1, 0]) - found["side"].points_px[:, 0])) < 1.0


def test_sides_are_the_wearers() -> None:
    image_left, image_right = straight((400, 360), (395, 750)), straight((600, 360), (605, 750))
    for view, name, left_is in (("front", "princess", "wearer_right"), ("back", "princess_back", "wearer_left")):
        named = {line.side: line for line in name_seams([image_left, image_right], frame(view)) if line.name == name}
        assert len(named) == 2
        assert named[left_is].points_px[0, 0] == 400


def test_the_two_edges_of_an_opened_front_are_told_apart() -> None:
    lines = name_seams([straight((493, 250), (493, 780)), straight((507, 250), (507, 780))], frame("front"))
    assert {(line.name, line.side, line.points_px[0, 0]) for line in lines} == {
        ("centre_front", "wearer_right", 493.0),
        ("centre_front", "wearer_left", 507.0),
    }


def test_the_dark_gap_of_an_opened_front_is_no_line() -> None:
    pen, gap = (-1.0, 0.0, 0.0), (-1.9, -0.3, -0.2)
    lines = [straight((493, 470), (493, 780), pen), straight((507, 250), (507, 780), pen), straight((500, 250), (500, 460), gap)]
    named = {line.side: line.points_px for line in name_seams(lines, frame("front"))}
    assert named["wearer_right"][:, 0].max() == 493.0
    assert named["wearer_left"][:, 0].min() == 507.0


def test_a_line_followed_from_one_edge_of_an_opened_front_to_the_other_is_taken_apart() -> None:
    bent = straight((493, 250), (493, 500))
    swapped = replace(
        bent, points_px=np.concatenate([bent.points_px, straight((507, 502), (507, 780)).points_px]), seen=np.ones(125 + 139, bool)
    )
    lines = [swapped, straight((507, 250), (507, 490)), straight((493, 510), (493, 780))]
    named = {line.side: line.points_px for line in name_seams(lines, frame("front"))}
    assert set(named["wearer_right"][:, 0]) == {493.0}
    assert set(named["wearer_left"][:, 0]) == {507.0}


def test_two_pieces_of_one_edge_that_overlap_are_not_two_edges() -> None:
    """Taken for a pair they lay the middle of the gap on that edge, and half of it went to the other front."""
    whole = straight((508, 418), (503, 500))
    points = np.concatenate([whole.points_px, straight((503, 502), (507, 780)).points_px])
    bent = replace(whole, points_px=points, seen=np.ones(len(points), bool))
    other = [straight((493, 250), (493, 330)), straight((493, 600), (493, 780))]
    named = {line.side: line.points_px for line in name_seams([straight((507, 250), (508, 432)), bent, *other], frame("front"))}
    assert named["wearer_left"][:, 0].min() >= 503
    assert named["wearer_right"][:, 0].max() == 493.0


@pytest.mark.parametrize(("view", "toward"), [("right", 1), ("left", -1)])
def test_the_rim_of_the_neckline_behind_is_no_shoulder_seam(view: str, toward: int) -> None:
    seam = straight((500 + 8 * toward, 140), (500 - 2 * toward, 158))
    rim = straight((500 - 30 * toward, 120), (500 - 70 * toward, 155), (-0.5, 0.0, 0.0))
    (shoulder,) = [line for line in name_seams([seam, rim], frame(view)) if line.name == "shoulder"]
    assert abs(shoulder.points_px[:, 0] - 500).max() < 10
    assert name_seams([rim], frame(view)) == ()


def test_the_colour_told_for_a_seam_decides_between_two_lines_that_fit_alike() -> None:
    red, blue = straight((495, 250), (495, 780), (-0.6, 1.0, 0.6)), straight((520, 250), (520, 780), (-0.8, -0.7, -1.1))
    for told, x in (({}, 495), ({"centre_back": "dark blue"}, 520), ({"centre_back": "red"}, 495), ({"centre_back": "lilac"}, 495)):
        (line,) = [line for line in name_seams([red, blue], frame("back"), told) if line.name == "centre_back"]
        assert line.points_px[0, 0] == x, told


def test_the_colour_told_does_not_make_any_line_a_seam() -> None:
    assert name_seams([straight((520, 480), (545, 505), (-0.6, 1.0, 0.6))], frame("front"), {"centre_front": "red", "waist": "red"}) == ()


def test_the_side_seam_lies_between_the_princess_lines_whichever_way_she_faces() -> None:
    uprights = [straight((x, 380), (x, 780)) for x in (420, 480, 590)]
    right = {line.name: line.points_px[0, 0] for line in name_seams(uprights, frame("right"))}
    assert right == {"princess_back": 420, "side": 480, "princess": 590}
    mirrored = [straight((1020 - x, 380), (1020 - x, 780)) for x in (420, 480, 590)]
    left = {line.name: line.points_px[0, 0] for line in name_seams(mirrored, frame("left"))}
    assert left == {"princess_back": 600, "side": 540, "princess": 430}


def test_a_stray_mark_gets_no_name() -> None:
    assert name_seams([straight((520, 480), (545, 505))], frame("front")) == ()


def test_stickers_arrows_and_dots_hide_cloth() -> None:
    corners = np.array([[0.0, 0], [20, 0], [20, 20], [0, 20]])
    pointer = Sighting("shoulder_point", "wearer_right", "right", "marker", np.array([10.0, -30.0]), 0.4, 0.0, "pointer", corners)
    dot = Sighting("bust_point", "wearer_left", "front", "dot", np.array([100.0, 100.0]), 0.5, 0.0, "dot")
    sticker, arrow, disc = hidden_by([pointer, dot], 0.9)
    assert cv2.pointPolygonTest(sticker.astype(np.float32), (-2.0, 10.0), False) > 0
    assert cv2.pointPolygonTest(arrow.astype(np.float32), (10.0, -25.0), False) > 0
    assert cv2.pointPolygonTest(arrow.astype(np.float32), (12.5, -28.5), False) < 0, "a seam just beside the arrow's tip is seen"
    assert cv2.pointPolygonTest(disc.astype(np.float32), (106.0, 100.0), False) > 0


def test_a_line_that_may_be_the_shade_of_a_rim_says_so_and_is_less_sure() -> None:
    line = straight((430, 128), (335, 163))
    drawn, shade = (name_seams([replace(line, change=np.array(c))], frame("front"))[0] for c in ((-0.4, 0.8, 0.1), (-0.45, -0.08, -0.08)))
    assert (drawn.name, shade.name) == ("shoulder", "shoulder")
    assert "line_faint" not in drawn.flags
    assert "line_faint" in shade.flags
    assert shade.sd_px > 5 * drawn.sd_px


def test_a_line_midway_between_two_seams_says_so() -> None:
    """From the garment's middle (500) a seam of the princess kind lies half way to the outline, at 600."""
    for x, name, unsure in ((505, "centre_back", False), (595, "princess_back", False), (545, None, True)):
        (line,) = name_seams([straight((x, 250), (x + 2, 780))], frame("back"))
        assert name in (line.name, None)
        assert ("seam_unsure" in line.flags) == unsure


@pytest.mark.parametrize(("pen", "named", "faint"), [(0.95, True, False), (0.4, True, True), (0.1, False, False)])
def test_what_is_hardly_drawn_is_named_with_doubt_and_what_is_not_gets_no_name(pen: float, named: bool, faint: bool) -> None:
    """A placket runs where a centre front would."""
    line = replace(straight((500, 260), (500, 780)), pen=pen)
    found = [seam for seam in name_seams([line], frame("front")) if seam.name == "centre_front"]
    assert bool(found) == named
    assert any("line_faint" in seam.flags for seam in found) == faint
    if faint:
        sure = next(seam for seam in name_seams([straight((500, 260), (500, 780))], frame("front")) if seam.name == "centre_front")
        assert found[0].sd_px > sure.sd_px + 1
        assert "seam_unsure" not in found[0].flags
