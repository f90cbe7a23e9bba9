"""Sheets lie where the spec says."""

import numpy as np
import pytest
from scenes import prints
from scenes.lying_sheet import PAPER_M, lying
from scenes.spec import FloorSheetSpec

CORNERS = np.array([[0.0, 0], [297, 0], [297, 210], [0, 210]])


def test_a_flat_sheet_lies_words_to_the_camera() -> None:
    """The camera looks along +y: the sheet's lower edge is nearer to it."""
    x, y, z = lying(FloorSheetSpec(which="left", pos_m=(-0.4, 0.1)), CORNERS).T
    np.testing.assert_allclose(x, [-0.5485, -0.2515, -0.2515, -0.5485])
    np.testing.assert_allclose(y, [0.205, 0.205, -0.005, -0.005])
    np.testing.assert_allclose(z, PAPER_M)


def test_a_quarter_turn_is_counter_clockwise_from_above() -> None:
    middle_right = lying(FloorSheetSpec(which="right", pos_m=(0, 0), yaw_deg=90), np.array([[297.0, 105.0]]))[0]
    np.testing.assert_allclose(middle_right, [0, 0.1485, PAPER_M], atol=1e-12)


def test_only_the_corners_curl() -> None:
    spec = FloorSheetSpec(which="right", pos_m=(0, 0), curl_mm=12)
    assert lying(spec, CORNERS)[:, 2] - PAPER_M == pytest.approx(0.012)
    assert lying(spec, np.array([[148.5, 105.0]]))[0, 2] == PAPER_M


def test_the_printed_squares_are_80_mm(tmp_path) -> None:
    squares = prints.floor_sheet(tmp_path / "left.png", "left")
    assert sorted(squares) == list(range(42, 48))
    for square in squares.values():
        assert np.ptp(square, axis=0) == pytest.approx([80, 80])


def test_corners_may_curl_unlike_each_other() -> None:
    spec = FloorSheetSpec(which="right", pos_m=(0, 0), curl_mm=10, curl_at=(1.0, 0.5, 0.2, 0.0))
    assert lying(spec, CORNERS)[:, 2] - PAPER_M == pytest.approx([0.010, 0.005, 0.002, 0.0])


def test_a_printer_that_prints_smaller_makes_a_smaller_sheet() -> None:
    x, y, _ = lying(FloorSheetSpec(which="left", pos_m=(0, 0)), CORNERS, 0.97).T
    assert np.ptp(x) == pytest.approx(0.97 * 0.297)
    assert np.ptp(y) == pytest.approx(0.97 * 0.21)
