"""What speaks against a photo is said as soon as it is there."""

import cv2
import numpy as np
import pytest
from web.before_camera import photo
from web.opened import SAMPLES

from fitcheck.core.records import VIEWS, Pose
from fitcheck.web.first_look import is_askew
from fitcheck.web.looking import look


def looked(picture, path) -> str:
    cv2.imwrite(str(path), picture, [cv2.IMWRITE_JPEG_QUALITY, 93])
    return look(path).trouble


@pytest.mark.parametrize("view", VIEWS)
def test_nothing_speaks_against_a_sample(view):
    assert look(SAMPLES / "forward_shoulder" / f"{view}.jpg").trouble == ""


def test_neither_card_nor_sheets(tmp_path):
    """Where the card's squares were, there is grey paper."""
    picture = photo("front")
    corners, _, _ = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)).detectMarkers(picture)
    for quad in corners:
        cv2.fillConvexPoly(picture, cv2.convexHull(quad.reshape(4, 2)).astype(np.int32), (160, 160, 160))
    assert "Neither the scale card nor both floor sheets" in looked(picture, tmp_path / "a.jpg")


def standing(across_mm: float, away_mm: float) -> Pose:
    """Her shoulders so far apart across the picture, and so far in depth."""
    points = np.zeros((33, 3))
    points[11], points[12] = (across_mm, 0, away_mm), (0, 0, 0)
    return Pose(np.zeros((33, 2)), points, np.ones(33), np.zeros((2, 2), bool))


def test_half_turned():
    """As far in depth as across is half way between front and side; 300 to 50 is ten degrees off."""
    assert is_askew(standing(100, 100), "front")
    assert is_askew(standing(100, 100), "right")
    assert not is_askew(standing(300, 50), "front")
    assert not is_askew(standing(50, 300), "right")
    assert is_askew(standing(300, 50), None)
