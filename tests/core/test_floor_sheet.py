"""The floor sheets' drawing: it fits both papers, and its ids are nobody else's."""

import numpy as np

from fitcheck.core.floor_sheet import FLOOR_BAR_MM, FLOOR_IDS, FLOOR_MARKER_MM, floor_corners_mm
from fitcheck.core.points import CARD_IDS, MARKED_POINTS, SHEETS_MM


def test_every_square_has_an_id_of_its_own() -> None:
    ids = [number for of_sheet in FLOOR_IDS.values() for number in of_sheet]
    assert len(set(ids)) == 12
    assert not set(ids) & ({*CARD_IDS} | {*MARKED_POINTS})
    assert max(ids) < 100  # of DICT_4X4_100


def test_squares_of_80_mm_lie_in_two_rows_of_three() -> None:
    corners = floor_corners_mm()
    assert corners.shape == (6, 4, 2)
    np.testing.assert_allclose(corners[0], [[-132, 86], [-52, 86], [-52, 6], [-132, 6]])
    np.testing.assert_allclose(corners[5, 2], [132, -86])
    np.testing.assert_allclose(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2), FLOOR_MARKER_MM)


def test_squares_and_bar_fit_both_papers_lying_with_5_mm_to_spare() -> None:
    wide, high = np.ptp(floor_corners_mm().reshape(-1, 2), axis=0)
    for paper in ("a4", "letter"):
        short, long = sorted(SHEETS_MM[paper])
        assert max(wide, FLOOR_BAR_MM) < long - 10
        assert high < short - 10
