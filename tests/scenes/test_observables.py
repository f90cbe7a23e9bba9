"""Observables of points and lines made by hand; metres in, millimetres out, y backwards."""

import numpy as np
import pytest
from scenes import observables

LM = {
    "side_neck_L": np.array([0.06, 0.0, 1.45]),
    "shoulder_point_L": np.array([0.18, 0.01, 1.40]),
    "bust_point_L": np.array([0.09, -0.15, 1.20]),
    "underarm_L": np.array([0.15, 0.0, 1.25]),
    "waist_side_L": np.array([0.13, 0.0, 1.0]),
    "hip_side_L": np.array([0.18, 0.0, 0.8]),
    "ear_L": np.array([0.07, -0.03, 1.58]),
    "back_neck": np.array([0, 0.07, 1.48]),
    "front_neck": np.array([0, -0.06, 1.40]),
    "waist_front": np.array([0, -0.1, 1.0]),
    "waist_back": np.array([0, 0.1, 1.0]),
    "crown": np.array([0, 0, 1.65]),
}
LM |= {name[:-1] + "R": p * [-1, 1, 1] for name, p in LM.items() if name.endswith("_L")}
LM["shoulder_point_R"] = np.array([-0.18, 0.01, 1.39])


def worn() -> dict[str, np.ndarray]:
    """A garment whose every offset is known: the shoulder seam 8 mm behind its point at the tip and 2 mm at the neck, 5 mm beyond."""
    along = (LM["shoulder_point_L"] - LM["side_neck_L"])[[0, 2]]
    beyond = 0.005 * along / np.linalg.norm(along)
    tip = LM["shoulder_point_L"] + [beyond[0], 0.008, beyond[1]]
    t = np.linspace(0, 2 * np.pi, 361)
    lines = {
        "shoulder_L": np.array([tip, LM["side_neck_L"] + [0, 0.002, 0]]),
        "princess_L": np.array([[0.1, -0.12, 0.9], [0.095, -0.15, 1.206]]),
        "side_L": np.array([[0.14, -0.010, 1.25], [0.18, -0.055, 0.8]]),
        "waist": np.stack([0.13 * np.cos(t), 0.1 * np.sin(t), 1.007 + 0 * t], 1),
        "centre_front": np.array([[0.004, -0.1, 1.4], [0.004, -0.1, 0.8]]),
        "centre_back": np.array([[-0.003, 0.1, 1.4], [-0.003, 0.1, 0.8]]),
        "front_edge_L": np.array([[0.02, -0.1, 1.4], [0.02, -0.1, 0.8]]),
        "front_edge_R": np.array([[-0.01, -0.1, 1.4], [-0.01, -0.1, 0.9]]),
    }
    return lines | {name[:-1] + "R": p * [-1, 1, 1] for name, p in lines.items() if name.endswith("_L") and "edge" not in name}


def test_a_closed_front() -> None:
    fit = observables.fit(LM, worn(), opened=False)
    expected = {
        "shoulder_seam_behind_at_tip_L": 8,
        "shoulder_seam_behind_at_neck_L": 2,
        "shoulder_tip_beyond_L": 5,
        "bust_mark_above_L": 6,
        "bust_mark_outside_L": 5,
        "bust_mark_outside_R": 5,
        "side_seam_forward_bust_L": 15,
        "side_seam_forward_hip_L": 55,
        "waist_mark_above_front": 7,
        "waist_mark_above_side_R": 7,
        "centre_front_left_bust": 4,
        "centre_back_left_waist": -3,
    }
    assert {key: fit[key] for key in expected} == pytest.approx(expected, abs=0.02)
    assert fit["side_seam_tilt_deg_L"] == pytest.approx(np.degrees(np.arctan(0.1)), abs=0.01)
    assert "centre_front_short_bust" not in fit


def test_an_open_front() -> None:
    fit = observables.fit(LM, worn(), opened=True)
    assert (fit["centre_front_short_bust"], fit["centre_front_short_bust_L"], fit["centre_front_short_bust_R"]) == (15, 20, 10)
    assert fit["centre_front_short_hip"] is None  # the right edge does not reach so low
    assert fit["centre_front_short_hip_L"] is None
    assert "centre_front_left_bust" not in fit


def test_a_half_tissue() -> None:
    """The right half lies to her right, at x below 0: 12 mm short at the bust and 4 mm beyond the middle at the hip."""
    lines = worn() | {
        "centre_front_R": np.array([[0.0, -0.1, 1.4], [-0.012, -0.1, 1.2], [0.0, -0.1, 1.0], [0.004, -0.1, 0.8], [0.004, -0.1, 0.7]]),
        "centre_back_R": np.array([[-0.003, 0.1, 1.4], [-0.003, 0.1, 0.9]]),
    }
    right = {name: line for name, line in lines.items() if not name.endswith("_L") and name not in ("centre_front", "centre_back")}
    fit = observables.fit(LM, right, opened=False, half="R")
    expected = {
        "centre_front_short_chest_R": 6,  # the chest is half way from the bust at 1.20 m to the pit of the neck at 1.40 m
        "centre_front_short_bust_R": 12,
        "centre_front_short_waist_R": 0,
        "centre_front_short_hip_R": -4,
        "centre_back_short_blade_R": 3,
        "centre_back_short_hip_R": None,
        "bust_mark_outside_R": 5,
        "waist_mark_above_side_R": 7,
    }
    assert {key: fit[key] for key in expected} == pytest.approx(expected, abs=0.02)
    assert not [key for key in fit if key.endswith("_L") or "_left_" in key]
    mirrored = {name[:-1] + "L": line * [-1, 1, 1] for name, line in right.items() if name.endswith("_R")}
    left = observables.fit(LM, mirrored | {"waist": lines["waist"]}, opened=False, half="L")
    assert left["centre_front_short_bust_L"] == pytest.approx(12, abs=0.02)


def test_posture() -> None:
    seen = observables.posture(LM)
    expected = {
        "shoulder_right_lower": 10,
        "shoulder_slope_deg_L": np.degrees(np.arctan2(0.05, 0.12)),
        "shoulder_forward_of_C7_L": 60,
        "craniovertebral_deg": 45,
        "bust_span": 180,
        "stature": 1650,
    }
    assert {key: seen[key] for key in expected} == pytest.approx(expected, abs=0.01)


def test_girths_are_hulls_of_slices() -> None:
    t = np.linspace(0, 2 * np.pi, 721)
    hollow = 0.1 - 0.03 * (np.cos(t) > 0.95)  # a hollow that a tape bridges
    slices = [np.stack([hollow * np.cos(t), hollow * np.sin(t), z + 0 * t], 1) for z in (1.2, 1.0)]
    v = np.concatenate([*slices, [[3.0, 0, 1.0]]])
    found = observables.girths(v, np.arange(len(v)) < len(v) - 1, LM)
    bridged = np.arccos(0.95)
    assert found["waist"] == pytest.approx(1000 * (0.1 * (2 * np.pi - 2 * bridged) + 0.2 * np.sin(bridged)), rel=0.002)
    assert found["hip"] is None
