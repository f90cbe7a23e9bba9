"""A kept result by hand: what pages need of it comes out, and what no fitcheck wrote is refused."""

import copy
import json

import numpy as np
import pytest

from fitcheck.core.advice import Finding
from fitcheck.diary.contract import UnsoundError
from fitcheck.diary.kept_result import read_result

KEY = "shoulder_seam_behind_tip_R"
FINDING = {"id": "shoulder_seam_behind", "side": "both", "says": "It lies behind.", "verdict": "present"}
MEASUREMENT = {"id": "shoulder_seam_behind", "at": "tip", "side": "wearer_right", "view": "right", "value": 10.5, "unit": "mm"}
MARKED = {"name": "shoulder_point", "side": "wearer_left", "view": "front", "grade": "placed", "xy_px": [40, 25], "sd_px": 0.5}
SOLVED = {"name": "waist_front", "side": None, "view": None, "grade": None, "xy_px": None, "sd_px": None}
RESULT = {
    "summary": "This round: forward shoulder.",
    "look_again": ["The bust mark.", "The side seams."],
    "findings": [FINDING | {"measurements": [KEY], "flags": ["turned"]}],
    "measurements": [MEASUREMENT | {"sd": 1.5, "sources": {"pixel": 0.9, "turn": 1.2}, "flags": []}],
    "landmarks": [MARKED | {"position_mm": [160, 1360, -5]}, SOLVED | {"position_mm": [0, 800, 90]}],
    "seams": [{"name": "centre_front", "side": None, "view": "front", "points_px": [[30, 20], [30, 60], [31, 90]], "sd_px": 0.5}],
}
ENDS = {KEY: [20.0, 30.0, 25.0, 31.0]}


def test_what_was_written_comes_out():
    kept = read_result(json.dumps(RESULT), ENDS)
    assert kept.summary == "This round: forward shoulder."
    assert kept.look_again == ("The bust mark.", "The side seams.")
    assert kept.findings == (Finding("shoulder_seam_behind", "both", "It lies behind.", "present", (KEY,), ("turned",)),)
    (measured,) = kept.measurements
    assert (measured.key, measured.view, measured.value, measured.unit, measured.sd) == (KEY, "right", 10.5, "mm", 1.5)
    assert measured.sources == {"pixel": 0.9, "turn": 1.2}
    assert measured.from_px.tolist() == [20, 30]
    assert measured.to_px.tolist() == [25, 31]
    (seam,) = kept.seams
    assert (seam.name, seam.side, seam.view, seam.points_px.shape) == ("centre_front", None, "front", (3, 2))


def test_a_point_that_no_photo_shows_has_a_place_and_no_sighting():
    kept = read_result(json.dumps(RESULT), ENDS)
    (sighting,) = kept.sightings
    assert (sighting.name, sighting.side, sighting.grade) == ("shoulder_point", "wearer_left", "placed")
    assert kept.positions_mm.keys() == {("shoulder_point", "wearer_left"), ("waist_front", None)}
    assert np.array_equal(kept.positions_mm["waist_front", None], [0, 800, 90])


def test_a_gap_that_was_not_drawn_has_no_ends():
    (measured,) = read_result(json.dumps(RESULT), {KEY: [None, None, None, None]}).measurements
    assert measured.from_px is None
    assert measured.to_px is None


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("findings", 0, "verdict"), "perhaps"),
        (("findings", 0, "side"), "left"),
        (("findings", 0, "id"), "<b>"),
        (("findings", 0, "says"), 5),
        (("findings",), {}),
        (("measurements", 0, "value"), "10"),
        (("measurements", 0, "value"), 1e9),
        (("measurements", 0, "sd"), -1.0),
        (("measurements", 0, "unit"), "ell"),
        (("measurements", 0, "at"), "hem"),  # then it is no measurement of this diary's rows
        (("measurements", 0, "sources"), []),
        (("landmarks", 0, "grade"), "guessed"),
        (("landmarks", 0, "xy_px"), [1, 2, 3]),
        (("landmarks", 0, "position_mm"), [1, 2]),
        (("landmarks", 0, "position_mm"), [0, float("nan"), 0]),
        (("seams", 0, "points_px"), [[1, 2], [3]]),
        (("seams", 0, "view"), "top"),
        (("seams",), [[]] * 20_001),
        (("summary",), None),
        (("look_again", 0), 3),
    ],
)
def test_what_no_fitcheck_writes_is_refused(place, value):
    held = copy.deepcopy(RESULT)
    *way, last = place
    at = held
    for step in way:
        at = at[step]
    at[last] = value
    with pytest.raises(UnsoundError, match="the result of a fitting is none that fitcheck writes"):
        read_result(json.dumps(held), ENDS)


@pytest.mark.parametrize("data", ["", "[]", "null", "{}", "[" * 100_000])
def test_what_is_no_result_at_all(data):
    with pytest.raises(UnsoundError, match="the result of a fitting is none"):
        read_result(data, ENDS)
