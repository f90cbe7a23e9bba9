"""What the side edges of the stand's foot tell of a camera's pitch."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from drawn_stand import camera, draw

from fitcheck.photo.stand.foot import find_foot
from fitcheck.photo.stand.foot_sides import Convergence, convergence, pitch_of_all


@pytest.mark.parametrize("error_deg", [-0.5, 0.0, 0.4])
@pytest.mark.parametrize(
    ("pitch_deg", "k1", "aside_mm", "yaw_deg"), [(3, 0.0, 0, 0), (2, -0.03, 250, 0), (3, 0.0, -500, 6), (6, 0.03, 350, -8)]
)
def test_a_wrong_pitch_is_told(pitch_deg: float, k1: float, aside_mm: float, yaw_deg: float, error_deg: float) -> None:
    """From straight above and with a side face seen, the foot turned or not."""
    cam = camera(pitch_deg, k1, aside_mm)
    wrong = replace(cam, rotation=cv2.Rodrigues(np.array([np.radians(error_deg), 0.0, 0.0]))[0] @ cam.rotation)
    rgb = draw(cam, yaw_deg=yaw_deg)
    foot = find_foot(rgb, wrong)
    assert foot is not None
    found = convergence(rgb, wrong, foot)
    assert found is not None
    assert np.degrees(found.pitch) == pytest.approx(-error_deg, abs=0.25)
    assert np.degrees(found.sd) < 0.3


def test_a_side_face_too_narrow_to_be_told_apart_is_a_doubt() -> None:
    alike = {}
    for aside in (0.0, 190.0, 420.0):  # none seen, less than a pixel, several
        cam = camera(3, 0.0, aside)
        rgb = draw(cam)
        foot = find_foot(rgb, cam)
        assert foot is not None
        found = convergence(rgb, cam, foot)
        assert found is not None
        alike[aside] = np.degrees(found.alike_sd)
    assert alike[0.0] == alike[420.0] == 0
    assert alike[190.0] > 0.15


def test_a_round_foot_and_a_cut_off_one_tell_nothing() -> None:
    cam = camera()
    round_one = draw(cam, "disc")
    foot = find_foot(round_one, cam)
    assert foot is not None
    assert convergence(round_one, cam, foot) is None
    plate = draw(cam)
    foot = find_foot(plate, cam)
    assert foot is not None
    assert convergence(plate, cam, foot) is not None
    assert convergence(np.ascontiguousarray(plate[:, :1100]), cam, foot) is None


def test_one_stray_photo_counts_little_and_widens_the_doubt() -> None:
    three = [Convergence(0.001, 0.003, 0.0), Convergence(-0.001, 0.003, 0.0), Convergence(0.0, 0.003, 0.0)]
    mean, sd = pitch_of_all(three)
    assert mean == pytest.approx(0.0, abs=1e-9)
    astray, wider = pitch_of_all([*three, Convergence(0.03, 0.003, 0.0)])
    assert abs(astray) < 0.3 * 0.03 / 4 + 0.002
    assert wider > sd
    _, alike = pitch_of_all([replace(one, alike_sd=0.006) for one in three])
    assert alike**2 - sd**2 == pytest.approx(0.006**2)
