"""The wearer is found where she is, nobody where nobody is, and no word of it leaves the computer."""

import json
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from skimage import data

from fitcheck.core.records import VIEWS, Photo
from fitcheck.vision.pose import find_people, px_per_mm

SAMPLES = Path(__file__).parents[2] / "sample_images"


def as_photo(rgb: np.ndarray, view: str = "front") -> Photo:
    return Photo(view, f"{view}.jpg", "", np.ascontiguousarray(rgb), None, "")


@cache
def sample(scene: str, view: str) -> Photo:
    return as_photo(cv2.imread(str(SAMPLES / scene / f"{view}.jpg"))[:, :, ::-1], view)


@cache
def truth(scene: str) -> dict:
    return json.loads((SAMPLES / scene / "truth.json").read_text())


@pytest.mark.parametrize("view", VIEWS)
def test_body_points_lie_near_the_true_ones(view):
    photo, told = sample("control", view), truth("control")["views"][view]["landmarks"]
    pose = find_people(photo)
    assert pose is not None
    assert pose.people == 1
    assert pose.flags == ()
    # the joint lies inside the body, the landmark on top of it: 60 mm and less
    for index, name in ((11, "shoulder_point_L"), (12, "shoulder_point_R")):
        assert np.hypot(*(pose.points_px[index] - told[name]["px"])) < 60
    card = np.array(truth("control")["views"][view]["card"]["corners_px"]["0"])
    assert px_per_mm(pose) == pytest.approx(np.linalg.norm(card[1] - card[0]) / 45, rel=0.08)


def test_mask_holds_the_wearer_and_not_the_card():
    photo, told = sample("control", "front"), truth("control")["views"]["front"]
    mask = find_people(photo).mask
    assert mask.shape == photo.rgb.shape[:2]
    for name in ("waist_front", "bust_point_L", "bust_point_R", "front_neck"):
        x, y = np.round(told["landmarks"][name]["px"]).astype(int)
        assert mask[y, x]
    for corners in told["card"]["corners_px"].values():
        x, y = np.round(np.mean(corners, axis=0)).astype(int)
        assert not mask[y, x]


def test_points_do_not_depend_on_padding():
    """Wide, tall or square: the same person at the same place."""
    rgb = sample("control", "front").rgb
    tall = find_people(as_photo(rgb)).points_px
    wide = find_people(as_photo(cv2.copyMakeBorder(rgb, 0, 0, 0, 1500, cv2.BORDER_REPLICATE))).points_px
    body = [11, 12, 23, 24, 25, 26]
    assert np.abs(tall[body] - wide[body]).max() < 15


def test_enlarged_photo_gives_enlarged_points():
    rgb = sample("control", "right").rgb
    small = find_people(as_photo(rgb)).points_px
    large = find_people(as_photo(cv2.resize(rgb, None, fx=1.6, fy=1.6, interpolation=cv2.INTER_CUBIC))).points_px
    assert np.abs((small + 0.5) * 1.6 - (large + 0.5)).max() < 15


@pytest.mark.parametrize("rgb", [data.chelsea(), data.coffee(), np.zeros((1, 1, 3), np.uint8)], ids=["cat", "cup", "one pixel"])
def test_nobody(rgb):
    assert find_people(as_photo(rgb)) is None


def test_nobody_in_an_empty_room():
    assert find_people(as_photo(sample("control", "front").rgb[:, 950:])) is None


def test_a_real_photo_of_a_real_person():
    """NASA's portrait of Eileen Collins, the usual test picture: her face is at the left of its upper half."""
    pose = find_people(as_photo(data.astronaut()))
    assert pose is not None
    nose = pose.points_px[0]
    assert 180 < nose[0] < 260
    assert 80 < nose[1] < 180


def test_two_people_are_noticed_and_the_larger_measured():
    rgb = sample("control", "front").rgb[:, :950]
    smaller = cv2.resize(rgb, None, fx=0.8, fy=0.8, interpolation=cv2.INTER_AREA)
    smaller = cv2.copyMakeBorder(smaller, rgb.shape[0] - smaller.shape[0], 0, 0, 0, cv2.BORDER_REPLICATE)
    pose = find_people(as_photo(np.concatenate([smaller, rgb], axis=1)))
    assert pose.people == 2
    assert "several_people" in pose.flags
    assert pose.points_px[:, 0].min() > smaller.shape[1]


def test_says_nothing_and_opens_no_network_socket(tmp_path):
    strace = shutil.which("strace")
    assert strace, "this test needs strace"
    script = """if True:
        from skimage import data
        from fitcheck.core.records import Photo
        from fitcheck.vision.pose import find_people
        assert find_people(Photo("front", "", "", data.astronaut(), None, "")) is not None"""
    log = tmp_path / "calls"
    traced = [strace, "-f", "-e", "trace=network", "-o", str(log), sys.executable, "-c", script]
    done = subprocess.run(traced, capture_output=True, text=True, cwd=Path(__file__).parents[2], check=False)
    assert done.returncode == 0, done.stderr
    assert "AF_INET" not in log.read_text()
    assert done.stderr == ""


@pytest.mark.parametrize("long_side", [997, 998, 999])
def test_small_photos_of_any_size(long_side: int) -> None:
    """In a process of its own: mediapipe ends it on masks whose rows it pads."""
    script = f"""if True:
        import cv2
        from skimage import data
        from fitcheck.core.records import Photo
        from fitcheck.vision.pose import find_people
        rgb = cv2.resize(data.astronaut(), ({long_side}, {long_side}))
        pose = find_people(Photo("front", "", "", rgb, None, ""))
        assert pose is not None
        assert pose.mask.shape == ({long_side}, {long_side})"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=Path(__file__).parents[2], check=False)
    assert done.returncode == 0, done.stderr
