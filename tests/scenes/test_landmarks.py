"""Where the bone of the shoulder is while the arm swings, and the skin over it; by hand."""

import numpy as np
import pytest
from scenes.landmarks import arms_at_bone, over_bone
from scenes.spec import Posture


def test_the_bone_takes_part_in_four_tenths_of_the_swing() -> None:
    """From 44 degrees back to hanging the skin goes all of the way, the bone as if the arm had stopped at 26.4."""
    assert arms_at_bone(Posture()) == Posture()
    hanging = arms_at_bone(Posture(arm_back=0.0, arm_add=34.0))
    assert (hanging.arm_back, hanging.arm_add) == pytest.approx((26.4, 28.0))
    one = arms_at_bone(Posture(arm_back_right_extra=-20.0))
    assert (one.arm_back, one.arm_back_right_extra) == pytest.approx((44.0, -8.0))


def test_collar_bones_carry_it_wholly() -> None:
    shrug = Posture(shoulder_drop=-8.0, shoulder_forward=5.0, shoulder_right_lower=4.0, arm_back=44.0)
    assert arms_at_bone(shrug) == shrug


def test_the_finger_feels_through_the_skin() -> None:
    """A sloping skin 12 mm above the bone: the point is the foot of the perpendicular, not the nearest vertex."""
    x, y = (part.ravel() for part in np.meshgrid(np.arange(-30.0, 31.0, 7.0), np.arange(-30.0, 31.0, 7.0)))
    normal = np.array([0.6, 0.0, 0.8])
    skin = np.column_stack([x, y, -0.75 * x])
    point, facing = over_bone(np.array([2.0, 1.0, -1.5]) - 12 * normal, skin, np.tile(normal, (len(skin), 1)), np.arange(len(skin)))
    assert point == pytest.approx([2.0, 1.0, -1.5], abs=1e-9)
    assert facing == pytest.approx(normal)
