"""The frame of the trunk on a drawn garment whose place is known."""

from dataclasses import replace

import numpy as np
import pytest
from vision import cloth_scene
from vision.cloth_scene import GARMENT, photograph

from fitcheck.core.records import View
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.trunk_frame import trunk_frame


@pytest.mark.parametrize(("view", "image_right"), [("front", "wearer_left"), ("back", "wearer_right")])
def test_places_are_told_from_shoulders_hips_and_the_outline_of_the_garment(view: View, image_right: str) -> None:
    pose = cloth_scene.pose()
    frame = trunk_frame(pose, find_cloth(photograph((225, 222, 214)), pose), view, 0.9)
    x0, _, x1, _ = GARMENT
    points = np.array([[x0, 345.0], [(x0 + x1) / 2, 345.0], [x1, 345.0]])
    assert frame.down(points) == pytest.approx([0.5, 0.5, 0.5])  # shoulders at 90, hips at 600
    assert frame.across(points) == pytest.approx([-1, 0, 1], abs=0.05)
    assert frame.side_of(0.5) == image_right != frame.side_of(-0.5)


def test_a_half_whose_cloth_is_not_known_is_taken_from_the_other_half() -> None:
    pose = cloth_scene.pose()
    cloth = find_cloth(photograph((225, 222, 214)), pose)
    x0, _, x1, _ = GARMENT
    mask = cloth.mask.copy()
    mask[:, : round((x0 + 0.35 * (x1 - x0) - cloth.box_px[0]) / cloth.stride)] = False
    points = np.array([[x0, 345.0], [x1, 345.0]])
    assert trunk_frame(pose, replace(cloth, mask=mask), "front", 0.9).across(points) == pytest.approx([-1, 1], abs=0.06)
    assert trunk_frame(pose, replace(cloth, mask=mask), "right", 0.9).across(points)[0] < -1.3  # from the side halves are no mirror images
