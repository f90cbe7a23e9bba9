"""The wearer is found where she is, nobody where nobody is, and no word of it leaves the computer."""

import shutil
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from unittest import mock

import cv2
import numpy as np
import pytest
from skimage import data
from vision.samples import as_photo, sample, truth

from fitcheck.core.records import VIEWS
from fitcheck.vision.person.pose import find_people, px_per_mm


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


def test_opens_no_network_socket(tmp_path):
    strace = shutil.which("strace")
    assert strace, "this test needs strace"
    script = """if True:
        from skimage import data
        from fitcheck.core.camera import Photo
        from fitcheck.vision.person.pose import find_people
        assert find_people(Photo("front", "", "", data.astronaut(), None, "")) is not None"""
    log = tmp_path / "calls"
    traced = [strace, "-f", "-e", "trace=network", "-o", str(log), sys.executable, "-c", script]
    done = subprocess.run(traced, capture_output=True, text=True, cwd=Path(__file__).parents[3], check=False)
    assert done.returncode == 0, done.stderr
    assert "AF_INET" not in log.read_text()


def test_what_other_threads_say_meanwhile_arrives():
    """The libraries beneath log to descriptor 2; it must not be turned away while a photo is looked at."""
    script = """if True:
        import os, threading, time
        from skimage import data
        from fitcheck.core.camera import Photo
        from fitcheck.vision.person.pose import find_people
        over = threading.Event()
        def speak():
            said = 0
            while not over.is_set():
                os.write(2, b"tick\\n")
                said += 1
                time.sleep(0.005)
            print(said)
        speaker = threading.Thread(target=speak)
        speaker.start()
        find_people(Photo("front", "", "", data.astronaut(), None, ""))
        over.set()
        speaker.join()"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=Path(__file__).parents[3], check=True)
    assert done.stderr.count("tick") == int(done.stdout)


@pytest.mark.parametrize("long_side", [997, 998, 999])
def test_small_photos_of_any_size(long_side: int) -> None:
    """In a process of its own: mediapipe ends it on masks whose rows it pads."""
    script = f"""if True:
        import cv2
        from skimage import data
        from fitcheck.core.camera import Photo
        from fitcheck.vision.person.pose import find_people
        rgb = cv2.resize(data.astronaut(), ({long_side}, {long_side}))
        pose = find_people(Photo("front", "", "", rgb, None, ""))
        assert pose is not None
        assert pose.mask.shape == ({long_side}, {long_side})"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=Path(__file__).parents[3], check=False)
    assert done.returncode == 0, done.stderr


class _Told:
    """A landmarker that gives what it is told."""

    def __init__(self, points):
        point = [SimpleNamespace(x=x, y=y, z=z, visibility=1.0) for x, y, z in points]
        self.result = SimpleNamespace(
            pose_landmarks=[point],
            pose_world_landmarks=[point],
            segmentation_masks=[SimpleNamespace(numpy_view=lambda: np.ones((256, 256), np.float32))],
        )

    def detect(self, image):
        return self.result


@pytest.mark.parametrize(("view", "face", "turned"), [("back", 0.24, True), ("back", 0.37, False), ("front", 0.24, False)])
def test_a_face_too_narrow_in_a_back_photo_is_the_back_of_the_head(view, face, turned):
    points = np.full((33, 3), 0.5)
    points[11, 0], points[12, 0] = 0.6, 0.4  # as seen from the front
    points[7, 0], points[8, 0] = 0.5 + face / 10, 0.5 - face / 10
    points[11, 2] = 0.1
    with mock.patch("fitcheck.vision.person.pose._landmarker", return_value=_Told(points)):
        pose = find_people(as_photo(np.zeros((64, 64, 3), np.uint8), view))
    assert (pose.points_px[11, 0] < pose.points_px[12, 0]) == turned
    assert (pose.points_px[7, 0] < pose.points_px[8, 0]) == turned
    assert pose.points_mm[12 if turned else 11, 2] == pytest.approx(-100 if turned else 100)
