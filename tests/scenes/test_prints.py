"""Printed patterns as OpenCV's own detector reads them."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from scenes import prints


def detected(path: Path, margin: int) -> dict[int, np.ndarray]:
    image = cv2.copyMakeBorder(cv2.imread(str(path), 0), margin, margin, margin, margin, cv2.BORDER_CONSTANT, value=128)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    corners, ids, _ = cv2.aruco.ArucoDetector(prints.DICTIONARY, parameters).detectMarkers(image)
    return {int(i): c[0] - margin for i, c in zip(ids.ravel(), corners, strict=True)}


def test_the_card_is_as_the_contract_says(tmp_path: Path) -> None:
    corners = prints.card(tmp_path / "card.png", px_per_mm=8)
    found = detected(tmp_path / "card.png", 40)
    assert sorted(found) == sorted(corners) == list(range(12))
    for number, square in corners.items():
        np.testing.assert_allclose((found[number] + 0.5) / 8, square, atol=0.1)
        assert np.linalg.norm(square[1] - square[0]) == pytest.approx(45)
    assert corners[1][0][0] - corners[0][1][0] == pytest.approx(15)
    assert corners[3][0][1] - corners[0][3][1] == pytest.approx(15)
    np.testing.assert_allclose(np.mean(list(corners.values()), axis=(0, 1)), [105, 148.5])


@pytest.mark.parametrize("number", [20, 36, 64])
def test_a_point_marker_is_25_mm_in_a_sheet_of_31(tmp_path: Path, number: int) -> None:
    prints.point_marker(tmp_path / "marker.png", number)
    found = detected(tmp_path / "marker.png", 40)
    assert list(found) == [number]
    side = cv2.imread(str(tmp_path / "marker.png"), 0).shape[0]
    assert np.linalg.norm(found[number][1] - found[number][0]) / side == pytest.approx(25 / 31, abs=0.01)
