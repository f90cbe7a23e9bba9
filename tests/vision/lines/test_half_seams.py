"""All lines of a half tissue: those of its side as on a whole garment, none of the other."""

import numpy as np
import pytest
from vision.cloth_scene import half_photograph, pose

from fitcheck.core.camera import Photo
from fitcheck.vision.lines.half_seams import HalfCut, half_seams

MM_PER_PX = 1.4
TISSUE, RED, BLUE, GREEN = (202, 172, 130), (190, 30, 40), (30, 60, 170), (20, 120, 50)
Y = np.arange(0.0, 760.0, 4.0)
EDGE = np.stack([np.full(len(Y), 284.0), Y], 1)


def test_a_waist_line_and_a_princess_line_keep_their_names() -> None:
    waist = np.stack([np.linspace(122, 283, 80), np.full(80, 440.0)], 1)
    princess = np.stack([np.full(100, 212.0), np.linspace(235, 698, 100)], 1)
    lines = [(EDGE - [9, 0], RED, 2.2), (waist, BLUE, 2.2), (princess, GREEN, 2.2)]
    rgb = half_photograph(TISSUE, EDGE, True, lines)
    cloth, seams, beyond_mm = half_seams(Photo("front", "", "", rgb, None, ""), pose(), (), MM_PER_PX, HalfCut("wearer_right"))
    names = {(seam.name, seam.side) for seam in seams}
    assert {("centre_front", "wearer_right"), ("waist", None), ("princess", "wearer_right")} <= names
    assert sum(seam.name == "centre_front" for seam in seams) == 1
    assert all(seam.side != "wearer_left" for seam in seams)
    assert cloth.mask.any()
    assert beyond_mm == pytest.approx(9 * MM_PER_PX, abs=1.0)
