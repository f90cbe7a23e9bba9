"""The printed squares as cells, against the library's own reader."""

import cv2
import numpy as np
import pytest

from fitcheck.core.aruco import CELLS, DICTIONARY, white_cells


@pytest.mark.parametrize("number", [0, 17, 99])
def test_a_square_drawn_cell_by_cell_is_read_as_its_number_upright(number):
    picture = np.kron(white_cells(number), np.full((20, 20), 255)).astype(np.uint8)
    corners, numbers, _ = cv2.aruco.ArucoDetector(DICTIONARY).detectMarkers(picture)
    assert numbers.tolist() == [[number]]
    assert corners[0][0] == pytest.approx(np.array([[20, 20], [140, 20], [140, 140], [20, 140]]), abs=1.5)  # from its upper left, clockwise


def test_a_black_rim_within_white_paper():
    cells = white_cells(5)
    assert cells.shape == (CELLS + 2, CELLS + 2)
    ring = np.ones((CELLS, CELLS), bool)
    ring[1:-1, 1:-1] = False
    assert not cells[1:-1, 1:-1][ring].any()
    assert cells[[0, -1]].all()
    assert cells[:, [0, -1]].all()


def test_it_cannot_be_changed_by_who_asks():
    with pytest.raises(ValueError, match="read-only"):
        white_cells(5)[0, 0] = False
