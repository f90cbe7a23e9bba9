"""Coloured dots drawn on cloth with lines, folds of light and a button: found where they are, named by where they sit."""

import cv2
import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.records import Pose, Sighting
from fitcheck.vision.stickers.dots import BY_DOTS, BY_POSE, but_either, find_dots, of_one_colour, of_their_colour, round_patches

MM_PER_PX = 1.0
PLACES = {
    ("bust_point", "wearer_right"): (360.3, 400.8),
    ("bust_point", "wearer_left"): (540.7, 402.2),
    ("waist_front", None): (450.4, 640.5),
    ("front_neck_point", None): (449.6, 260.3),
}


def drawn(places, diameter_mm=16.0, colour=(30, 140, 220), aspect=1.0, lines=True):
    """A figure in beige cloth under uneven light, dots drawn eight times too large and shrunk."""
    big = np.full((800 * 4, 900 * 4, 3), (190, 190, 195), np.uint8)
    cv2.rectangle(big, (250 * 4, 200 * 4), (650 * 4, 790 * 4), (205, 190, 160), -1)
    if lines:
        for x in (360, 450, 540):
            cv2.line(big, (x * 4, 300 * 4), (x * 4, 780 * 4), (170, 30, 40), 14)
        cv2.line(big, (260 * 4, 640 * 4), (640 * 4, 640 * 4), (20, 90, 30), 14)
    for x, y in places:
        axes = (round(diameter_mm * 2 * aspect), round(diameter_mm * 2))
        cv2.ellipse(big, (round((x + 0.5) * 4), round((y + 0.5) * 4)), axes, 0, 0, 360, colour, -1)
    rgb = cv2.resize(big, (900, 800), interpolation=cv2.INTER_AREA).astype(float)
    rgb *= np.linspace(1.0, 0.6, 900)[None, :, None]
    rgb = np.clip(rgb + np.random.default_rng(2).normal(0, 2.5, rgb.shape), 0, 255).astype(np.uint8)
    mask = np.zeros((800, 900), bool)
    mask[200:790, 250:650] = True
    return Photo("front", "front.jpg", "0" * 64, rgb, None, ""), Pose(np.zeros((33, 2)), np.zeros((33, 3)), np.ones(33), mask)


def expected(shift=(0.0, 0.0)):
    return {key: np.array(xy) + shift for key, xy in PLACES.items()}


def seen(photo, pose, places, gates=BY_POSE):
    return find_dots(round_patches(photo, pose, places, MM_PER_PX), photo.view, pose, places, MM_PER_PX, gates)


@pytest.mark.parametrize("diameter_mm", [11.0, 16.0, 20.0])
@pytest.mark.parametrize("colour", [(30, 140, 220), (245, 140, 20), (230, 60, 140)])
def test_every_dot_is_found_and_named(diameter_mm, colour):
    photo, pose = drawn(PLACES.values(), diameter_mm, colour)
    found = {(s.name, s.side): s for s in seen(photo, pose, expected((18, -14)))}
    assert set(found) == set(PLACES)
    for key, s in found.items():
        assert np.linalg.norm(s.xy_px - PLACES[key]) < 2 * s.sd_px
        assert s.grade == "dot"
        assert cv2.pointPolygonTest(s.corners_px.astype(np.float32), tuple(map(float, s.xy_px)), False) > 0


def test_a_dot_seen_aslant_counts():
    photo, pose = drawn(PLACES.values(), 18.0, aspect=0.5)
    assert len(seen(photo, pose, expected())) == 4


def test_crossing_lines_are_no_dots():
    photo, pose = drawn([])
    assert seen(photo, pose, expected()) == ()


def test_one_button_is_no_dot():
    photo, pose = drawn([(450, 640)], lines=False)
    assert seen(photo, pose, expected()) == ()


def test_a_missing_dot_leaves_the_others_their_names():
    places = [xy for key, xy in PLACES.items() if key != ("waist_front", None)]
    photo, pose = drawn(places)
    found = {(s.name, s.side) for s in seen(photo, pose, expected((-20, 10)))}
    assert found == set(PLACES) - {("waist_front", None)}


@pytest.mark.parametrize("width_mm", [4, 6, 7])
def test_strong_lines_of_one_colour_crossing_at_the_body_points_are_no_dots(width_mm):
    photo, pose = drawn([], lines=False)
    rgb = photo.rgb.copy()
    for (x, y), lean in zip(PLACES.values(), (0.0, 0.4, 0.8, 0.2), strict=True):
        for dx, dy in ((60, 60 * lean), (-20 * lean, 60), (50, -20)):
            ends = [(round((x - s * dx) * 16), round((y - s * dy) * 16)) for s in (-1, 1)]
            cv2.line(rgb, *ends, (200, 20, 30), width_mm, cv2.LINE_AA, 4)
    blurred = cv2.GaussianBlur(rgb, (0, 0), 1.0)
    assert seen(Photo("front", "front.jpg", "0" * 64, blurred, None, ""), pose, expected()) == ()


def in_two_lights(colours):
    """A photo of two halves, the right one in a third of the light, with a patch for every (name, side, colour) in turn."""
    rgb = np.full((100, 400, 3), 200, np.uint8)
    dots = []
    for i, (name, side, colour) in enumerate(colours):
        x = 20 + 50 * i
        cv2.circle(rgb, (x, 50), 9, colour, -1)
        dots.append(Sighting(name, side, "front", "dot", np.array([float(x), 50.0]), 1.0, kind="dot"))
    rgb[:, 200:] = rgb[:, 200:] // 3
    return {"front": Photo("front", "front.jpg", "0" * 64, rgb, None, "")}, {"front": tuple(dots)}


BLUE, ORANGE, RED, GREEN = (30, 110, 200), (235, 130, 30), (210, 40, 50), (40, 150, 70)


def test_dots_of_one_colour_a_side_are_kept_in_any_light():
    photos, found = in_two_lights(
        [
            ("bust_point", "wearer_left", BLUE),
            ("bust_point", "wearer_right", ORANGE),
            ("waist_front", None, RED),
            ("waist_side", "wearer_left", BLUE),
            ("hip_side", "wearer_left", BLUE),
            ("waist_side", "wearer_right", ORANGE),
            ("front_neck_point", None, RED),
        ]
    )
    assert of_one_colour(photos, found) == found


def test_patches_of_any_colour_are_no_dots():
    photos, found = in_two_lights(
        [
            ("waist_front", None, RED),
            ("front_neck_point", None, BLUE),
            ("bust_point", "wearer_left", BLUE),
            ("waist_side", "wearer_left", BLUE),
            ("shoulder_point", "wearer_left", GREEN),
        ]
    )
    kept = of_one_colour(photos, found)["front"]
    assert {(dot.name, dot.side) for dot in kept} == {("bust_point", "wearer_left"), ("waist_side", "wearer_left")}


def test_no_dots_stay_none():
    photos, _ = in_two_lights([])
    assert of_one_colour(photos, {"front": ()}) == {"front": ()}


def test_a_dot_between_two_points_is_neither():
    """The shoulder's dot lies aslant and is not seen: the neck's, 40 mm from it, may be either's when the body is placed too high."""
    shoulder = {("shoulder_point", "wearer_right"): np.array([300.0, 290.0]), ("side_neck_point", "wearer_right"): np.array([305.0, 250.0])}
    for y, names in ((250.0, {"side_neck_point"}), (274.0, set())):
        photo, pose = drawn([*PLACES.values(), (304.0, y)])
        found = seen(photo, pose, expected() | shoulder)
        assert {s.name for s in found if s.side == "wearer_right"} - {"bust_point"} == names


def test_a_cloth_with_dots_of_its_own_has_none():
    """Polka dots lie at body points too, but everywhere else as well."""
    grid = [(x, y) for x in range(280, 640, 60) for y in range(240, 780, 60)]
    photo, pose = drawn([*PLACES.values(), *grid], lines=False)
    assert seen(photo, pose, expected()) == ()


def test_a_few_buttons_of_the_same_colour_do_not_hide_the_dots():
    photo, pose = drawn([*PLACES.values(), (300.0, 720.0), (600.0, 720.0)], lines=False)
    assert len(seen(photo, pose, expected())) == 4


def test_dots_are_of_one_size():
    """Three dots of one packet, and a badge where the fourth point is."""
    places = list(PLACES.values())
    photo, pose = drawn(places[:3], 12.0, lines=False)
    larger, _ = drawn(places[3:], 20.0, lines=False)
    y = round(places[3][1])
    photo.rgb[y - 30 : y + 30] = larger.rgb[y - 30 : y + 30]
    assert {(s.name, s.side) for s in seen(photo, pose, expected())} == set(list(PLACES)[:3])


def test_a_neck_dot_alone_is_not_taken_for_the_shoulders():
    """As close as 32 mm to the shoulder and 36 to the neck: which it is shows once the body stands by the other dots."""
    either = {("side_neck_point", "wearer_left"): np.array([450.0, 500.0]), ("shoulder_point", "wearer_left"): np.array([448.0, 545.0])}
    photo, pose = drawn([*PLACES.values(), either["side_neck_point", "wearer_left"]])
    astray = {key: xy - [0, 40] for key, xy in either.items()}
    found = seen(photo, pose, expected() | astray)
    assert ("side_neck_point", "wearer_left") not in {(s.name, s.side) for s in found}
    assert {(s.name, s.side) for s in but_either(found)} == set(PLACES)
    again = {(s.name, s.side) for s in seen(photo, pose, expected() | {key: xy + [5, -6] for key, xy in either.items()}, BY_DOTS)}
    assert again == {*PLACES, ("side_neck_point", "wearer_left")}
    both = [Sighting(name, side, "left", "dot", xy, 1.0) for (name, side), xy in either.items()]
    assert but_either(both) == tuple(both)


def test_patches_of_another_colour_are_left_out_of_the_second_look():
    photo, pose = drawn(PLACES.values())
    found = seen(photo, pose, expected())
    rgb = photo.rgb.copy()
    cv2.circle(rgb, (400, 520), 8, (40, 150, 60), -1)
    badged = Photo("front", "front.jpg", "0" * 64, rgb, None, "")
    patches = {"front": round_patches(badged, pose, expected(), MM_PER_PX)}
    kept = of_their_colour(patches, {"front": found}, {"front": badged})["front"]
    assert len(patches["front"]) == 5
    assert len(kept) == 4


def test_white_paper_in_the_dots_light_is_no_dot():
    """A square of tape has hardly any colour, though what it has may be the dots' hue."""
    photo, _ = drawn(PLACES.values(), colour=(230, 60, 140))
    dots = [Sighting("back_neck_point", None, "front", "dot", np.array(xy), 1.0) for xy in PLACES.values()]
    rgb = photo.rgb.copy()
    rgb[490:510, 290:310] = (238, 226, 231)
    tape = Sighting("waist_back", None, "front", "dot", np.array([300.0, 500.0]), 1.0)
    kept = of_one_colour({"front": Photo("front", "front.jpg", "0" * 64, rgb, None, "")}, {"front": [*dots, tape]})["front"]
    assert kept == tuple(dots)


def test_dots_on_a_cloth_with_spots_of_its_own_are_found_where_pen_crosses_spots():
    """A brown spot under an orange line is round and of the pen's colour in its middle; it is no dot, and does not make dots printed."""
    orange = (245, 140, 20)
    photo, pose = drawn([], lines=False)
    rgb = photo.rgb.copy()
    for x in (360, 450, 540):
        for y in range(310, 780, 60):
            if min(np.hypot(x - px, y - py) for px, py in PLACES.values()) > 45:
                cv2.circle(rgb, (x, y), 10, (100, 66, 28), -1, cv2.LINE_AA)
        cv2.line(rgb, (x, 300), (x, 780), orange, 2, cv2.LINE_AA)
    for x, y in PLACES.values():
        cv2.circle(rgb, (round(x), round(y)), 8, orange, -1, cv2.LINE_AA)
    rgb = cv2.GaussianBlur(rgb, (0, 0), 0.8)
    found = seen(Photo("front", "front.jpg", "0" * 64, rgb, None, ""), pose, expected())
    assert {(s.name, s.side) for s in found} == set(PLACES)
