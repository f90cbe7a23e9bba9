"""What she is asked to do, by photos in which one thing is wrong; small, as the camera's page sends them."""

import cv2
import numpy as np
import pytest
from web.before_camera import before_camera, photo

from fitcheck.core.errors import PhotoError
from fitcheck.web.live import MOST_PX, glance
from fitcheck.web.spoken import sentences

VIEWS = ("front", "right", "back", "left")
SIZE = (1280, 960)


def jpeg(picture) -> bytes:
    return cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 80])[1].tobytes()


def wants(picture, view="front", turned=False) -> str:
    found = glance(jpeg(picture), view, turned).wants
    assert not found or found in sentences()[1]  # it can be said
    return found


@pytest.mark.parametrize("fitting", ["forward_shoulder", "control"])
@pytest.mark.parametrize("view", VIEWS)
def test_all_is_well(view, fitting):
    assert wants(before_camera(photo(view, fitting), SIZE), view) == ""


@pytest.mark.parametrize(
    ("shown", "asked"), [("front", "right"), ("right", "left"), ("left", "back"), ("back", "front"), ("right", "front")]
)
def test_another_view_than_is_asked_for(shown, asked):
    assert wants(before_camera(photo(shown), SIZE), asked) == f"turn_{asked}"


def test_the_back_of_a_head_that_passes_for_a_face():
    """She has turned round and stands still: her word counts, and only front and back may be mistaken for each other."""
    picture = before_camera(photo("front"), SIZE)
    assert wants(picture, "back", turned=True) == ""
    assert wants(picture, "right", turned=True) == "turn_right"
    assert wants(before_camera(photo("right"), SIZE), "back", turned=True) == "turn_back"


def test_nobody_there():
    wall = np.full((960, 1280, 3), 150, np.uint8)
    assert wants(wall) == "nobody"


def test_in_the_dark():
    assert wants((before_camera(photo("front"), SIZE) * 0.12).astype(np.uint8)) == "more_light"


def test_feet_or_head_cut_off():
    whole = photo("front")
    high = whole.shape[0]
    assert wants(before_camera(whole[: int(0.6 * high)], SIZE)) == "step_back"
    assert wants(before_camera(whole[int(0.2 * high) :], SIZE)) == "nobody"  # the networks know people by their faces


def test_too_far_away():
    """At a third of the size the card would not be read either; what helps is to come closer."""
    far = cv2.copyMakeBorder(photo("front"), 1500, 500, 0, 0, cv2.BORDER_REPLICATE)
    assert wants(before_camera(far, SIZE)) == "come_closer"


def test_no_card():
    """Where the card's squares are, there is grey paper."""
    picture = before_camera(photo("front"), SIZE)
    corners, _, _ = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)).detectMarkers(picture)
    at = np.concatenate([quad.reshape(4, 2) for quad in corners])
    for quad in corners:
        cv2.fillConvexPoly(picture, cv2.convexHull(quad.reshape(4, 2)).astype(np.int32), (160, 160, 160))
    assert len(at) >= 12
    assert wants(picture) == "show_card"


@pytest.mark.parametrize("blur_px", [3.5, 6.0])
def test_out_of_focus(blur_px):
    """With the card still readable, and blurred beyond that."""
    assert wants(cv2.GaussianBlur(before_camera(photo("front"), SIZE), (0, 0), blur_px)) == "sharp"


def test_two_people():
    one = photo("front")
    by = 960 / one.shape[0]
    small = cv2.resize(one, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)[:, 150:600]
    assert wants(np.concatenate([small, small], axis=1)) == "two_people"


def test_where_she_stands_is_told_as_shares_of_the_height():
    """Moved by a tenth of the height to the right, every point is there by a tenth more."""
    picture = before_camera(photo("front"), SIZE)
    moved = cv2.copyMakeBorder(picture, 0, 0, 96, 0, cv2.BORDER_REPLICATE)[:, :1280]
    a, b = (np.array(glance(jpeg(one), "front").where) for one in (picture, moved))
    assert a.shape == (5, 2)
    assert np.abs(b - a - [0.1, 0.0]).max() < 0.01


@pytest.mark.parametrize("data", [b"", b"<html>", jpeg(np.zeros((10, MOST_PX + 1, 3), np.uint8))])
def test_what_is_no_small_picture(data):
    with pytest.raises(PhotoError):
        glance(data, "front")
