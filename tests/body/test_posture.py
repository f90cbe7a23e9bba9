"""Posture numbers against a hand-worked body and the drawn truth of a sample."""

import json
from pathlib import Path

import numpy as np
import pytest

from fitcheck.body.posture import _curve, _lean

SAMPLES = Path(__file__).parents[2] / "sample_images"


def at(height_mm: float, forward_mm: float) -> np.ndarray:
    return np.array([0.0, height_mm, forward_mm])


def test_curve_is_the_depth_behind_the_chord():
    """An upright chord of 400 mm and blades 40 mm behind it; then the waist 100 mm forward, worked by hand."""
    upright = _curve(at(1400, 0), at(1000, 0), at(1270, -30), at(1270, -50))
    assert upright == pytest.approx(40)
    # the leaning chord passes 32.5 mm forward of plumb at the blades' height: 72.5 mm, seen at the cosine of its lean
    leaning = _curve(at(1400, 0), at(1000, 100), at(1270, -40), at(1270, -40))
    assert leaning == pytest.approx(72.5 * 400 / np.hypot(400, 100))


def test_lean_is_forward_positive():
    assert _lean(at(1400, 20), at(860, -10), at(860, -10)) == pytest.approx(np.degrees(np.arctan(30 / 540)))
    assert _lean(at(1400, -20), at(860, 0), at(860, 0)) < 0


def test_true_lean_of_the_sample_is_what_the_definition_says():
    """The scene's own landmarks (y runs to her back there): the drawn body leans back a little, as people do."""
    truth = json.loads((SAMPLES / "control" / "truth.json").read_text())["landmarks"]
    points = [np.array([truth[n][0], truth[n][2], -truth[n][1]]) for n in ("back_neck", "hip_side_L", "hip_side_R")]
    assert -6 < _lean(*points) < 0
