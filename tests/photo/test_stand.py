"""The card's stand, drawn with OpenCV's own projection."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from fitcheck.core.camera import Camera, Photo, Scale
from fitcheck.core.records import VIEWS, View
from fitcheck.photo.foot import _roll, find_foot
from fitcheck.photo.stand import LOWEST_EDGE_MM, above_floor

FINER = 4
HEIGHT, HALF, THICK, POLE_BEHIND = 1120.0, 100.0, 16.0, 15.0
WALL, FLOOR, METAL_TOP, METAL_FRONT, POLE = (200, 198, 190), (120, 90, 70), (150, 150, 152), (128, 128, 130), (110, 112, 115)


def camera(pitch_deg: float = 2.0, k1: float = -0.03, aside_mm: float = 250.0) -> Camera:
    """At 1150 mm above the floor, 3 m before the card."""
    down = np.radians(pitch_deg)
    turn = np.array([[1, 0, 0], [0, np.cos(down), -np.sin(down)], [0, np.sin(down), np.cos(down)]]) @ np.diag([1.0, -1.0, -1.0])
    eye = np.array([-aside_mm, 1150 - HEIGHT, 3000.0])
    return Camera(np.array([[2700.0, 0, 749.5], [0, 2700.0, 999.5], [0, 0, 1]]), np.array([k1, 0, 0, 0, 0]), turn, -turn @ eye)


def draw(cam: Camera, foot: str = "plate", yaw_deg: float = 0.0, roll: float = 0.0, pole: bool = True, off_mm: float = 0.0) -> np.ndarray:
    """A room with the stand in the card's frame: the floor at y = -HEIGHT, the pole behind the card."""
    picture = np.full((FINER * 2000, FINER * 1500, 3), WALL, np.uint8)

    def fill(corners: list[list[float]], colour: tuple[int, int, int]) -> None:
        dense = np.concatenate([np.linspace(a, b, 40) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)])
        px = cv2.projectPoints(dense, cv2.Rodrigues(cam.rotation)[0], cam.translation_mm, cam.matrix, cam.distortion)[0]
        cv2.fillPoly(picture, [np.round(FINER * (px + 0.5) - 0.5).astype(np.int32)], colour)

    low, top, lean = -HEIGHT, THICK - HEIGHT, -roll * HEIGHT
    fill([[-2500, low, -900], [2500, low, -900], [2500, low, 1200], [-2500, low, 1200]], FLOOR)
    around = np.linspace(0, 2 * np.pi, 61)[:-1]
    square = HALF * np.array([[-1.3, -1], [1.3, -1], [1.3, 1], [-1.3, 1]])
    flat = square if foot in ("plate", "step") else HALF * np.stack([np.cos(around), np.sin(around)], 1)
    if foot == "step":
        flat = flat * [12, 1]
    turned = np.radians(yaw_deg)
    flat = flat @ np.array([[np.cos(turned), np.sin(turned)], [-np.sin(turned), np.cos(turned)]]) + [lean, -POLE_BEHIND]
    if foot != "none":
        for y, colour in ((low, METAL_FRONT), (top, METAL_TOP)):
            fill([[x, y, z] for x, z in flat], colour)
        for a, b in zip(flat, np.roll(flat, -1, axis=0), strict=True):
            if (b - a)[0] < 0:  # faces the camera
                fill([[a[0], low, a[1]], [b[0], low, b[1]], [b[0], top, b[1]], [a[0], top, a[1]]], METAL_FRONT)
    if pole:
        fill([[lean - 8, top, -POLE_BEHIND], [lean + 8, top, -POLE_BEHIND], [8, 0, -POLE_BEHIND], [-8, 0, -POLE_BEHIND]], POLE)
    fill([[-105, -148, 0], [105, -148, 0], [105, 148, 0], [-105, 148, 0]], (245, 245, 245))
    seen = cv2.GaussianBlur(cv2.resize(picture, (1500, 2000), interpolation=cv2.INTER_AREA), (0, 0), 0.8)
    return np.clip(seen + np.random.default_rng(3).normal(0, 2, seen.shape), 0, 255).astype(np.uint8)


@pytest.mark.parametrize(("pitch_deg", "k1", "aside_mm"), [(2, -0.03, 250), (6, 0.0, -300), (4, 0.04, 500)])
def test_height_of_the_card(pitch_deg: float, k1: float, aside_mm: float) -> None:
    cam = camera(pitch_deg, k1, aside_mm)
    foot = find_foot(draw(cam), cam)
    assert foot is not None
    # the drawn foot lies on the floor without pads
    assert foot.card_height_mm == pytest.approx(HEIGHT + 2.5, abs=1.0)
    assert foot.half_depth_mm == pytest.approx(HALF, abs=1.5)
    assert foot.thick_mm == pytest.approx(THICK, abs=0.7)
    assert foot.roll == pytest.approx(0.0, abs=0.0015)


def test_a_turned_plate_and_a_round_one() -> None:
    cam = camera()
    for foot, yaw in (("plate", 12.0), ("disc", 0.0)):
        found = find_foot(draw(cam, foot, yaw), cam)
        assert found is not None
        assert found.card_height_mm == pytest.approx(HEIGHT + 2.5, abs=2.5)


@pytest.mark.parametrize("roll", [-0.012, -0.007, -0.004, -0.002, 0.001, 0.003, 0.005, 0.01])
def test_a_leaning_pole(roll: float) -> None:
    """However little or much it leans: where an edge wanders by a few millimetres it must not be lost, nor taken for upright."""
    cam = camera()
    found = find_foot(draw(cam, roll=roll), cam)
    assert found is not None
    assert found.roll == pytest.approx(roll, abs=0.0008)


def test_a_short_stretch_of_pole_tells_its_lean_roughly() -> None:
    cam = camera()
    assert _roll(draw(cam, roll=0.004), cam, np.arange(-200.0, -260.0, -6.0)) == pytest.approx(0.004, abs=0.012)


def test_a_card_that_leans_back_changes_it_as_said() -> None:
    """The camera's frame is the card's: seen with the card's top further from the camera, the floor comes out lower by `by_tilt_mm`."""
    cam, lean = camera(), 0.008
    upright = find_foot(draw(cam), cam)
    tip = np.array([[1, 0, 0], [0, np.cos(lean), np.sin(lean)], [0, -np.sin(lean), np.cos(lean)]])  # the card back, so the upright to us
    tipped = find_foot(draw(cam), replace(cam, rotation=cam.rotation @ tip))
    assert upright is not None
    assert tipped is not None
    assert tipped.card_height_mm + lean * tipped.by_tilt_mm == pytest.approx(upright.card_height_mm, abs=0.7)
    assert tipped.by_tilt_mm * lean > 2


@pytest.mark.parametrize(("foot", "pole"), [("none", False), ("none", True), ("plate", False), ("step", True)])
def test_no_stand(foot: str, pole: bool) -> None:
    """A bare floor, a pole that stands on it, a plate without a pole, and a step across the whole picture tell nothing."""
    cam = camera()
    assert find_foot(draw(cam, foot, pole=pole), cam) is None


def photo_of(cam: Camera) -> Photo:
    return Photo("front", "front.jpg", "", draw(cam), 2700.0, "")


def scale_of(cam: Camera, source: str = "card") -> Scale:
    return Scale(cam, source, 12, 3000.0, 0.2, 1.1, 0.0, 0.002, 0.01, 0.3)


def test_photos_of_a_fitting_agree_or_do_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    cam = camera()
    views: dict[View, Photo] = dict.fromkeys(VIEWS[:3], photo_of(cam))
    scales = dict.fromkeys(views, scale_of(cam))
    found = above_floor(views, scales)["front"].above_floor
    assert found is not None
    assert found.mm == pytest.approx(HEIGHT + 2.5, abs=1.0)
    assert found.sd_mm < 3.5
    foot = find_foot(views["front"].rgb, cam)
    assert foot is not None
    heights = iter([HEIGHT, HEIGHT + 2, HEIGHT + 60])
    monkeypatch.setattr("fitcheck.photo.stand.find_foot", lambda *_: replace(foot, card_height_mm=next(heights)))
    agreed = above_floor(views, scales)["front"].above_floor
    assert agreed is not None
    assert agreed.mm == pytest.approx(HEIGHT + 1)


def pitched(cam: Camera, deg: float) -> Camera:
    """As a card would tell it that erred by so much of pitch: the card's middle stays where it is seen."""
    return replace(cam, rotation=cv2.Rodrigues(np.array([np.radians(deg), 0.0, 0.0]))[0] @ cam.rotation)


def pitch_deg(a: Camera, b: Camera) -> float:
    return float(np.degrees(cv2.Rodrigues(a.rotation @ b.rotation.T)[0][0, 0]))


def test_photos_of_one_floor_put_each_others_pitch_right() -> None:
    """What is left of three wrong pitches is their mean, which nothing in the photos tells."""
    views, errors = VIEWS[:3], np.array([0.5, -0.3, 0.1])
    cams = [camera(pitch, aside_mm=aside) for pitch, aside in ((2, 250), (5, -200), (3, 300))]
    photos: dict[View, Photo] = {view: replace(photo_of(cam), rgb=draw(cam)) for view, cam in zip(views, cams, strict=True)}
    scales = {view: scale_of(pitched(cam, error)) for view, cam, error in zip(views, cams, errors, strict=True)}
    levelled = above_floor(photos, scales)
    left = [pitch_deg(levelled[view].camera, cam) for view, cam in zip(views, cams, strict=True)]
    assert left == pytest.approx(np.full(3, errors.mean()), abs=0.08)
    for view in views:
        was, now = scales[view].camera, levelled[view].camera
        assert np.array_equal(now.translation_mm, was.translation_mm)
        assert np.allclose(now.rotation @ now.rotation.T, np.eye(3))
        alone = np.sqrt(levelled[view].plumb_sd_deg ** 2 - levelled[view].hang_sd_deg ** 2)
        assert alone == pytest.approx(0.1)


def test_a_photo_without_the_foot_keeps_its_pitch() -> None:
    cam = camera()
    photos: dict[View, Photo] = {"front": photo_of(cam), "right": replace(photo_of(cam), rgb=draw(cam, "none", pole=False))}
    scales = {view: replace(scale_of(pitched(cam, 0.4)), plumb_sd_deg=0.8, hang_sd_deg=0.5) for view in photos}
    found = above_floor(photos, scales)["right"]
    assert np.array_equal(found.camera.rotation, scales["right"].camera.rotation)
    assert found.above_floor is not None
    assert found.plumb_sd_deg**2 - found.hang_sd_deg**2 == pytest.approx(0.8**2 - 0.5**2)


def test_told_height_wins_and_a_sheet_has_none() -> None:
    cam = camera()
    photos: dict[View, Photo] = {"front": photo_of(cam)}
    told = above_floor(photos, {"front": scale_of(cam)}, 900.0)["front"].above_floor
    assert told is not None
    assert told.mm == 900 - LOWEST_EDGE_MM
    assert pytest.approx(-112.5) == LOWEST_EDGE_MM
    assert above_floor(photos, {"front": scale_of(cam, "sheet")})["front"].above_floor is None


def test_a_foot_that_the_picture_cuts_off() -> None:
    """The picture's lower edge is no edge of the foot."""
    cam = camera()
    whole = draw(cam)
    front = np.abs(whole.astype(int) - METAL_FRONT).max(axis=2) < 8
    last = int(np.flatnonzero(front.sum(axis=1) > 50)[-1])
    for lost in range(-6, 30, 4):
        found = find_foot(whole[: last - lost], cam)
        assert found is None or found.card_height_mm == pytest.approx(HEIGHT + 2.5, abs=1.0)


def test_a_flat_picture_has_none() -> None:
    cam = camera()
    assert find_foot(np.full((2000, 1500, 3), 128, np.uint8), cam) is None
    assert find_foot(draw(cam)[:700], cam) is None
