"""The frame of the trunk on a drawn garment whose place is known."""

import numpy as np
import pytest
from vision import cloth_scene
from vision.cloth_scene import GARMENT, photograph

from fitcheck.core.records import View
from fitcheck.vision.cloth import find_cloth
from fitcheck.vision.trunk import trunk_frame


@pytest.mark.parametrize(("view", "image_right"), [("front", "wearer_left"), ("back", "wearer_right")])
def test_places_are_told_from_shoulders_hips_and_the_outline_of_the_garment(view: View, image_right: str) -> None:
    pose = cloth_scene.pose()
    frame = trunk_frame(pose, find_cloth(photograph((225, 222, 214)), pose), view, 0.9)
    x0, _, x1, _ = GARMENT
    points = np.array([[x0, 345.0], [(x0 + x1) / 2, 345.0], [x1, 345.0]])
    assert frame.down(points) == pytest.approx([0.5, 0.5, 0.5])  # shoulders at 90, hips at 600
    assert frame.across(points) == pytest.approx([-1, 0, 1], abs=0.05)
    assert frame.side_of(0.5) == image_right != frame.side_of(-0.5)
