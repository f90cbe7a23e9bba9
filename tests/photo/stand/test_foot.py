"""The foot of the card's stand in one photo."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_stand import HALF, HEIGHT, METAL_FRONT, THICK, camera, draw

from fitcheck.photo.stand.foot import _roll, find_foot


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
