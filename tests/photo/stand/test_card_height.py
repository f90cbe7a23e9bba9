"""What all photos of a fitting tell of the card's stand."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from drawn_stand import HEIGHT, camera, draw

from fitcheck.core.camera import Camera, CardHeight, Photo, Scale
from fitcheck.core.records import VIEWS, View
from fitcheck.photo.stand.card_height import LOWEST_EDGE_MM, above_floor, confirmed
from fitcheck.photo.stand.foot import find_foot


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
    monkeypatch.setattr("fitcheck.photo.stand.card_height.find_foot", lambda *_: replace(foot, card_height_mm=next(heights)))
    monkeypatch.setattr("fitcheck.photo.stand.card_height.convergence", lambda *_: None)
    found = above_floor(views, scales)
    agreed, moved = found["front"].above_floor, found[VIEWS[2]].above_floor
    assert agreed is not None
    assert agreed.mm == pytest.approx(HEIGHT + 1)
    assert moved is not None  # for the third photo the card was hung higher, and its stand is believed, less exactly
    assert moved.mm == pytest.approx(HEIGHT + 60)
    assert moved.sd_mm > agreed.sd_mm
    assert [("card_moved" in scale.flags) for scale in found.values()] == [False, False, True]


def pitched(cam: Camera, deg: float) -> Camera:
    """As a card would tell it that erred by so much of pitch: the card's middle stays where it is seen."""
    return replace(cam, rotation=cv2.Rodrigues(np.array([np.radians(deg), 0.0, 0.0]))[0] @ cam.rotation)


def pitch_deg(a: Camera, b: Camera) -> float:
    return float(np.degrees(cv2.Rodrigues(a.rotation @ b.rotation.T)[0][0, 0]))


def levelled(errors_deg: list[float], foot: str) -> tuple[dict[View, Scale], dict[View, Scale], list[float]]:
    """Scales of photos whose cards erred so in pitch, as they were and as the stand puts them right; and what is left of the errors."""
    views = VIEWS[: len(errors_deg)]
    cams = [camera(pitch, aside_mm=aside) for pitch, aside in ((2, 350), (5, -420), (3, 10))][: len(views)]
    photos: dict[View, Photo] = {view: replace(photo_of(cam), rgb=draw(cam, foot)) for view, cam in zip(views, cams, strict=True)}
    scales: dict[View, Scale] = {view: scale_of(pitched(cam, error)) for view, cam, error in zip(views, cams, errors_deg, strict=True)}
    found = above_floor(photos, scales)
    return scales, found, [pitch_deg(found[view].camera, cam) for view, cam in zip(views, cams, strict=True)]


def test_photos_of_one_floor_put_each_others_pitch_right() -> None:
    """Of three wrong pitches their mean is left, of which a round foot tells nothing."""
    was, now, left = levelled([0.5, -0.3, 0.1], "disc")
    assert left == pytest.approx([0.1, 0.1, 0.1], abs=0.08)
    for view, scale in now.items():
        assert np.array_equal(scale.camera.translation_mm, was[view].camera.translation_mm)
        assert np.allclose(scale.camera.rotation @ scale.camera.rotation.T, np.eye(3))
        assert np.sqrt(scale.plumb_sd_deg**2 - scale.hang_sd_deg**2) == pytest.approx(0.1)


@pytest.mark.parametrize("error", [-0.4, 0.4])
def test_the_side_edges_of_the_foot_tell_what_is_wrong_in_all_photos(error: float) -> None:
    """As where the card leans to or from the camera: most of it is put right, the height of the card with it, and the doubt is smaller."""
    _, by_disc, left_by_disc = levelled([error] * 3, "disc")
    _, by_plate, left = levelled([error] * 3, "plate")
    assert left_by_disc == pytest.approx([error] * 3, abs=0.05)
    assert max(map(abs, left)) < 0.2
    assert by_plate["front"].hang_sd_deg < 0.75 * by_disc["front"].hang_sd_deg
    disc, plate = by_disc["front"].above_floor, by_plate["front"].above_floor
    assert disc is not None
    assert plate is not None
    assert abs(disc.mm - HEIGHT - 2.5) > 2.5
    assert abs(plate.mm - HEIGHT - 2.5) < 1.5


def test_a_foot_that_is_not_rectangular_is_not_heeded() -> None:
    """Its edges run together as if the card leant by degrees, which no stand lets it."""
    _, _, left = levelled([0.2, 0.2, 0.2], "wedge")
    assert left == pytest.approx([0.2, 0.2, 0.2], abs=0.05)


def test_a_photo_without_the_foot_is_pitched_as_the_others_are_in_common() -> None:
    cam = camera()
    photos: dict[View, Photo] = {"front": photo_of(cam), "right": replace(photo_of(cam), rgb=draw(cam, "none", pole=False))}
    scales = {view: replace(scale_of(pitched(cam, 0.4)), plumb_sd_deg=0.8, hang_sd_deg=0.5) for view in photos}
    found = above_floor(photos, scales)
    assert found["right"].above_floor is not None
    assert pitch_deg(found["right"].camera, found["front"].camera) == pytest.approx(0.0, abs=1e-6)
    assert found["right"].plumb_sd_deg ** 2 - found["right"].hang_sd_deg ** 2 == pytest.approx(0.8**2 - 0.5**2)


def test_told_height_wins_and_a_sheet_has_none() -> None:
    cam = camera()
    photos: dict[View, Photo] = {"front": photo_of(cam)}
    told = above_floor(photos, {"front": scale_of(cam)}, 900.0)["front"].above_floor
    assert told is not None
    assert told.mm == 900 - LOWEST_EDGE_MM
    assert pytest.approx(-112.5) == LOWEST_EDGE_MM
    assert above_floor(photos, {"front": scale_of(cam, "sheet")})["front"].above_floor is None


def on_the_floor(cam: Camera, x_mm: float, z_mm: float) -> np.ndarray:
    """Where a point of the floor, `x_mm` right of the card and `z_mm` before it, is seen."""
    at = np.array([[x_mm, -HEIGHT, z_mm]])
    px, _ = cv2.projectPoints(at, cv2.Rodrigues(cam.rotation)[0], cam.translation_mm, cam.matrix, cam.distortion)
    return np.asarray(px[:, 0])


@pytest.mark.parametrize(("told_mm", "stays"), [(HEIGHT, True), (HEIGHT - 80, True), (HEIGHT - 200, False), (620.0, False), (720.0, False)])
def test_a_foot_that_her_own_feet_contradict_is_none(told_mm: float, stays: bool) -> None:
    """A balustrade half a metre above the floor: were the floor there, she would stand more than a metre before the card; a leg of a tripod
    that ends behind the card, 0.2 m too high: half a metre."""
    cam = camera(4.0)
    scale = replace(scale_of(cam), above_floor=CardHeight(told_mm, 1.7, by_tilt_mm=1100.0), foot_mm=told_mm)
    beside = np.concatenate([on_the_floor(cam, -500.0, 60.0), on_the_floor(cam, -350.0, 40.0)])
    assert (confirmed(scale, beside) is scale) == stays
    assert stays or confirmed(scale, beside).above_floor is None


def test_without_feet_in_sight_only_an_impossible_height_is_refused() -> None:
    cam = camera()
    nothing = np.zeros((0, 2))
    for told_mm, stays in ((1000.0, True), (600.0, False), (1900.0, False)):
        scale = replace(scale_of(cam), above_floor=CardHeight(told_mm, 1.7, by_tilt_mm=1100.0), foot_mm=told_mm)
        assert (confirmed(scale, nothing).above_floor is not None) == stays


def test_a_height_that_a_tape_told_is_believed() -> None:
    cam = camera()
    scale = replace(scale_of(cam), above_floor=CardHeight(600.0, 3.0))
    assert confirmed(scale, on_the_floor(cam, -400.0, 0.0)) is scale
