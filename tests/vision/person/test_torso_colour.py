"""The colour of the clothes, against CIELAB values of the sRGB primaries (IEC 61966-2-1; Lindbloom's tables, from memory)."""

import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.records import Pose
from fitcheck.vision.person.torso_colour import torso_colour


@pytest.mark.parametrize(
    ("rgb", "lab"), [((255, 0, 0), (53.2, 80.1, 67.2)), ((0, 0, 255), (32.3, 79.2, -107.9)), ((119, 119, 119), (50.0, 0, 0))]
)
def test_the_middle_of_the_torso_counts(rgb, lab):
    picture = np.full((1200, 900, 3), (20, 200, 60), np.uint8)
    picture[400:800, 380:520] = rgb
    px = np.full((33, 2), 450.0)
    px[[11, 12], 1], px[[23, 24], 1] = 350, 850
    pose = Pose(px, np.zeros((33, 3)), np.ones(33), np.ones((1200, 900), bool))
    photo = Photo("front", "front.jpg", "0" * 64, picture, None, "")
    assert torso_colour(photo, pose) == pytest.approx(np.array(lab), abs=0.1)
