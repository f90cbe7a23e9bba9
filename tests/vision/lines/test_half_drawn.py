"""What is drawn on each side, on drawn trunks. A pixel is 1.4 mm."""

import numpy as np
import pytest
from vision.cloth_scene import half_photograph, pose

from fitcheck.core.camera import Photo
from fitcheck.vision.lines.half_drawn import drawn_mm

EDGE = np.array([[280.0, 0.0], [280.0, 759.0]])
RED, TISSUE = (190, 30, 40), (202, 172, 130)


@pytest.mark.parametrize("tissue_left", [True, False])
def test_a_line_counts_for_the_side_that_it_is_drawn_on(tissue_left: bool) -> None:
    """A plumb line of 400 pixels is 560 mm long."""
    x = 205.0 if tissue_left else 355.0
    line = np.stack([np.full(100, x), np.linspace(150, 550, 100)], 1)
    rgb = half_photograph(TISSUE, EDGE, tissue_left, [(line, RED, 2.2)])
    drawn = drawn_mm(Photo("front", "", "", rgb, None, ""), pose(), (), 1.4)
    on, off = ("wearer_right", "wearer_left") if tissue_left else ("wearer_left", "wearer_right")
    assert drawn[on] == pytest.approx(560, abs=60)
    assert drawn[off] < 100
