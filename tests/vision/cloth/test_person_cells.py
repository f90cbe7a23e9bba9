"""A mask that reaches beyond her, or ends within her, is put right by the wall's colour."""

import numpy as np
import pytest

from fitcheck.vision.cloth.log_colour import log_colour
from fitcheck.vision.cloth.person_cells import person_cells


@pytest.mark.parametrize("off", [-1, 0, 4, 7])
def test_the_wall_in_the_rim_of_the_mask_is_no_person(off: int) -> None:
    """She stands at columns 40 to 79 before a grey wall; the mask is so many cells wider on both sides."""
    picture = np.full((120, 120, 3), (150, 155, 160), np.uint8)
    picture[20:, 40:80] = (200, 60, 70)
    mask = np.zeros((120, 120), bool)
    mask[20:, 40 - off : 80 + off] = True
    cells = person_cells(log_colour(picture), mask)
    assert cells[40:110, 41:79].all()
    assert not cells[40:110, :38].any()
    assert not cells[40:110, 82:].any()
