"""Posture numbers against a hand-worked body and the drawn truth of a sample."""

import json
import tomllib
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from hand_made import SD_MM, L, R, moved, solution

from fitcheck.body.posture import _curve, _lean, posture

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


# Her left half, and the middle; upright, with the ear as far before C7 as above it, and a shoulder that falls 60 mm over 80.
HALF = {
    "ear": (75, 1500, 40),
    "side_neck_point": (60, 1390, -20),
    "shoulder_point": (140, 1330, -40),
    "shoulder_blade": (80, 1270, -100),
    "bust_point": (95, 1180, 110),
    "hip_side": (170, 900, -60),
}
MIDDLE = {"back_neck_point": (0, 1400, -60), "waist_back": (0, 1000, -60), "crown": (0, 1640, 0)}

# number: (the words for a larger one, what is moved, before, then)
POSTURE = {
    "craniovertebral_angle": ("head further back", "her left ear 10 back, her right ear 10 back", 45.0, 48.01),  # atan(100 / 90)
    "shoulder_forward": ("shoulder further forward", "shoulder_point 10 forward", 20.0, 30.0),
    "shoulder_slope": ("shoulder more sloping", "shoulder_point 10 down", 36.87, 41.19),  # atan(60 / 80), atan(70 / 80)
    "shoulder_height_difference": ("right shoulder lower", "her right shoulder_point 10 down", 0.0, 10.0),
    "hip_height_difference": ("right hip lower", "her right hip_side 10 down", 0.0, 10.0),
    "upper_back_curve": ("upper back rounder", "her left shoulder_blade 10 back, her right shoulder_blade 10 back", 40.0, 50.0),
    "trunk_lean": ("trunk leaning further forward", "middle back_neck_point 10 forward", 0.0, 1.15),  # atan(10 / 500)
    "stature": ("taller", "middle crown 10 up", 1640.0, 1650.0),
    "bust_span": ("bust points further apart", "her left bust_point 10 outwards", 190.0, 200.0),
}


def standing():
    points = {(name, side): (x if side == L else -x, y, z) for name, (x, y, z) in HALF.items() for side in (L, R)}
    return points | {(name, None): at for name, at in MIDDLE.items()}


def numbers(points):
    return {(value.id, value.side): value for value in posture(solution(points))}


CASES = [(id, side) for id, (_, moves, _, _) in POSTURE.items() for side in ((None,) if moves.startswith(("her", "middle")) else (L, R))]


@pytest.mark.parametrize(("id", "side"), CASES)
def test_ten_millimetres_towards_the_words_for_more(id, side):
    words, moves, before, then = POSTURE[id]
    row = tomllib.loads(files("fitcheck.diary").joinpath("posture.toml").read_text("utf-8"))[id]
    assert row["more"] == words
    was, found = numbers(standing()), numbers(moved(standing(), moves, side))
    assert was[id, side].value == pytest.approx(before, abs=0.005)
    assert found[id, side].value == pytest.approx(then, abs=0.005)
    if side:
        assert found[id, R if side == L else L].value == pytest.approx(before, abs=0.005)


def test_every_posture_number_is_among_them():
    table = tomllib.loads(files("fitcheck.diary").joinpath("posture.toml").read_text("utf-8"))
    assert {*POSTURE} == {*table} == {id for id, _ in numbers(standing())}
    assert {key for key in numbers(standing())} == {*CASES}


def test_how_far_posture_is_known_by_hand():
    """Each coordinate is known to 0.5 mm. The mean of two ears is surer than one ear: over 100 mm up and forward, in radians,
    C7 adds (0.5 / 141.4) squared, both ears together half of that."""
    found = numbers(standing())
    assert found["stature", None].sd == pytest.approx(SD_MM)
    assert found["bust_span", None].sd == pytest.approx(SD_MM * 2**0.5)
    assert found["craniovertebral_angle", None].sd == pytest.approx(np.degrees(0.5 / 141.4 * 1.5**0.5), rel=1e-3)


def test_what_is_known_too_badly_is_not_told():
    """A crown known to 30 mm says nothing of her height; blades known to 20 mm nothing of her back, though other lengths may be."""
    body = solution(standing())
    row = 3 * body.keys.index(("crown", None)) + 1
    body.rows[row, row], body.covariance[row, row] = 1 / 30, 30**2
    for side in (L, R):
        row = 3 * body.keys.index(("shoulder_blade", side)) + 2
        body.rows[row, row], body.covariance[row, row] = 1 / 20, 20**2
    assert {*POSTURE} - {value.id for value in posture(body)} == {"stature", "upper_back_curve"}
