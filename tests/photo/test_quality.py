"""Doubts about photos: none on good ones, one each on sensibly spoilt ones."""

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.body.landmarks import pose_sightings
from fitcheck.core.camera import Photo
from fitcheck.core.pose_joints import ankles_seen
from fitcheck.core.records import Pose
from fitcheck.photo.load import load_photo
from fitcheck.photo.quality import blur_px, photo_doubts, photo_flags
from fitcheck.vision.person.pose import find_people

SAMPLES = Path(__file__).parents[2] / "sample_images"
ANKLES, FEET = (27, 28), (29, 30, 31, 32)


@pytest.fixture(scope="module")
def photo() -> Photo:
    return load_photo(SAMPLES / "control" / "front.jpg", "front")


def standing(photo: Photo) -> Pose:
    """A rough outline around the person of the sample photo and points inside it."""
    height, width = photo.rgb.shape[:2]
    mask = np.zeros((height, width), np.bool_)
    mask[int(0.04 * height) : int(0.95 * height), int(0.14 * width) : int(0.64 * width)] = True
    return Pose(np.full((33, 2), [width * 0.4, height / 2]), np.zeros((33, 3)), np.ones(33), mask)


@pytest.mark.parametrize("scene", ["control", "forward_shoulder"])
@pytest.mark.parametrize("view", ["front", "right", "back", "left"])
def test_good_photos_raise_no_doubt(scene, view):
    photo = load_photo(SAMPLES / scene / f"{view}.jpg", view)
    assert photo_flags(photo, standing(photo)) == ()
    assert photo_flags(photo, None) == ("no_person",)


@pytest.mark.parametrize("sd_px", [2.0, 3.0, 5.0, 8.0, 12.0])
def test_blur_is_flagged(photo, sd_px):
    soft = replace(photo, rgb=cv2.GaussianBlur(photo.rgb, (0, 0), sd_px))
    assert photo_flags(soft, standing(soft)) == ("blurred",)


@pytest.mark.parametrize("length", [9, 15, 25])
@pytest.mark.parametrize("direction", ["across", "down", "diagonal"])
def test_camera_shake_is_flagged_in_every_direction(photo, length, direction):
    smear = {"across": np.ones((1, length)), "down": np.ones((length, 1)), "diagonal": np.eye(length)}[direction]
    shaken = replace(photo, rgb=cv2.filter2D(photo.rgb, -1, smear / smear.sum()))
    limit = {"down": 15, "across": 9, "diagonal": 9}[direction]  # along an upright body few edges lie across a smear down the picture
    assert ("blurred" in photo_flags(shaken, standing(shaken))) >= (length >= limit)


@pytest.mark.parametrize("factor", [0.7, 1.0, 2.0])
@pytest.mark.parametrize("sd_px", [0.0, 2.0, 4.0])
def test_blur_measure_is_the_true_blur_at_any_resolution(photo, factor, sd_px):
    """The photo's own blur (0.85 px) and the added one sum in squares; measured at 2000 px whatever the photo's size."""
    soft = cv2.GaussianBlur(photo.rgb, (0, 0), sd_px) if sd_px else photo.rgb
    size = (int(1500 * factor), int(2000 * factor))
    resized = cv2.resize(soft, size, interpolation=cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC)
    grey = cv2.cvtColor(resized, cv2.COLOR_RGB2GRAY)
    box = tuple(int(v * factor) for v in (210, 80, 960, 1900))
    expected = np.hypot(0.85, sd_px) if factor >= 1 else np.hypot(0.85, sd_px * factor)  # a small photo is looked at as it is
    assert blur_px(grey, box) == pytest.approx(expected, rel=0.15)


def test_noise_is_not_blur(photo):
    noise = np.random.default_rng(0).normal(0, 8, photo.rgb.shape)
    noisy = replace(photo, rgb=np.clip(photo.rgb + noise, 0, 255).astype(np.uint8))
    assert photo_flags(noisy, standing(noisy)) == ()


@pytest.mark.parametrize(("gain", "flagged"), [(0.6, False), (0.3, True), (0.15, True)])
def test_darkness(photo, gain, flagged):
    dim = replace(photo, rgb=(photo.rgb * gain).astype(np.uint8))
    assert ("dark" in photo_flags(dim, standing(dim))) == flagged


@pytest.mark.parametrize(("gain", "flagged"), [(1.1, False), (1.6, True), (2.5, True)])
def test_overexposure(photo, gain, flagged):
    bright = replace(photo, rgb=np.clip(photo.rgb * gain, 0, 255).astype(np.uint8))
    assert ("overexposed" in photo_flags(bright, standing(bright))) == flagged


def moved(pose: Pose, numbers: tuple[int, ...], y: float) -> Pose:
    points = pose.points_px.copy()
    points[list(numbers), 1] = y
    return replace(pose, points_px=points)


def test_how_blurred_it_is_goes_on_in_pixels_of_the_photo(photo):
    sharp, sd_px = photo_doubts(photo, standing(photo)), 4.0
    soft = replace(photo, rgb=cv2.GaussianBlur(photo.rgb, (0, 0), sd_px))
    assert sharp == ((), 0.0)
    for size in (1, 2):
        large = replace(soft, rgb=cv2.resize(soft.rgb, None, fx=size, fy=size, interpolation=cv2.INTER_LINEAR))
        flags, blur = photo_doubts(large, standing(large))
        assert flags == ("blurred",)
        assert blur == pytest.approx(size * sd_px, rel=0.2)


def test_cropping(photo):
    pose = standing(photo)
    assert "cropped" not in photo_flags(photo, moved(pose, FEET, 2050))  # toes cut: nothing is measured there
    assert "cropped" in photo_flags(photo, moved(pose, (*ANKLES, *FEET), 2050))
    assert "cropped" in photo_flags(photo, moved(pose, (2, 5), -10))
    mask = pose.mask.copy()
    mask[:100, 500:600] = True
    assert "cropped" in photo_flags(photo, replace(pose, mask=mask))  # face in the picture, crown cut


@pytest.mark.parametrize(("view", "share"), [("right", 0.7), ("left", 0.5), ("back", 0.7), ("front", 0.62)])
def test_a_photo_that_ends_at_hip_or_thigh_is_cropped(view, share):
    """The model then stands a whole small figure into what is left of the picture."""
    photo = load_photo(SAMPLES / "forward_shoulder" / f"{view}.jpg", view)
    cut = replace(photo, rgb=np.ascontiguousarray(photo.rgb[: int(share * photo.rgb.shape[0])]))
    pose = find_people(cut)
    assert pose is not None
    assert not ankles_seen(pose)
    assert "cropped" in photo_flags(cut, pose)
    assert not {"hip_joint", "ankle", "heel"} & {s.name.rpartition("_from_")[0] for s in pose_sightings(view, pose, 1.0)}


@pytest.mark.parametrize("view", ["front", "right", "back", "left"])
def test_ankles_of_whole_photos_are_seen(view):
    pose = find_people(load_photo(SAMPLES / "control" / f"{view}.jpg", view))
    assert pose is not None
    assert ankles_seen(pose)


def test_people(photo):
    assert photo_flags(photo, replace(standing(photo), people=2)) == ("several_people",)
