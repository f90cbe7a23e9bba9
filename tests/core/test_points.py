"""The table of printed markers against the project's contract."""

import cv2
import numpy as np

from fitcheck.core.points import CARD_IDS, MARKED_POINTS, SHEETS_MM, card_corners_mm


def test_ids_of_the_contract():
    contract = {
        20: ("back_neck_point", None), 21: ("front_neck_point", None), 22: ("side_neck_point", "wearer_left"),
        25: ("shoulder_point", "wearer_right"), 26: ("bust_point", "wearer_left"), 28: ("waist_front", None), 29: ("waist_back", None),
        31: ("waist_side", "wearer_right"), 32: ("hip_side", "wearer_left"), 34: ("seat", None), 36: ("underarm_point", "wearer_right"),
        37: ("shoulder_blade", "wearer_left"), 41: ("garment_bust_mark", "wearer_right"),
    }  # fmt: skip
    for number, (name, side) in contract.items():
        for marker, kind in ((number, "centred"), (number + 40, "pointer")):
            point = MARKED_POINTS[marker]
            assert (point.name, point.side, point.kind) == (name, side, kind)
    assert len(MARKED_POINTS) == 42
    assert not set(MARKED_POINTS) & set(CARD_IDS)
    assert max(MARKED_POINTS) < cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100).bytesList.shape[0]


def test_card_drawing_is_3_by_4_markers_of_45_mm_with_gaps_of_15():
    corners = card_corners_mm()
    assert corners.shape == (12, 4, 3)
    assert np.allclose(corners.mean((0, 1)), 0)
    assert np.allclose(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2), 45)
    assert np.allclose(corners[1, 0] - corners[0, 1], [15, 0, 0])
    assert np.allclose(corners[3, 0] - corners[0, 3], [0, -15, 0])


def test_sheets_are_iso_216_and_iso_7810():
    assert SHEETS_MM["a4"] == (210.0, 297.0)
    assert SHEETS_MM["id1"] == (85.60, 53.98)
