import json
from dataclasses import replace
from typing import Any

import jsonschema
import numpy as np
import pytest

from fitcheck import __version__
from fitcheck.core.advice import Round
from fitcheck.core.camera import CardHeight, FloorSeen
from fitcheck.core.check import FitCheck, TapeCheck
from fitcheck.report.result import schema, to_json


@pytest.fixture(scope="module")
def data(check: FitCheck) -> dict[str, Any]:
    return to_json(check)


def problems(data: Any) -> list[str]:
    return [error.json_path for error in jsonschema.Draft202012Validator(schema()).iter_errors(data)]


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())


def test_the_result_follows_it_also_after_a_round_trip(data: dict[str, Any]) -> None:
    assert problems(data) == []
    assert problems(json.loads(json.dumps(data, allow_nan=False))) == []


def test_an_empty_fitting_follows_it() -> None:
    assert problems(to_json(FitCheck((), (), (), (), (), (), Round((), "Nothing to compare.")))) == []


def test_a_fitting_without_card_pose_or_points_follows_it(check: FitCheck) -> None:
    bare = tuple(replace(result, scale=None, pose=None, standing=None, sightings=(), seams=()) for result in check.photos)
    found = to_json(replace(check, photos=bare, landmarks=tuple(replace(mark, sightings=()) for mark in check.landmarks)))
    assert problems(found) == []
    assert [photo["card"] for photo in found["photos"]] == [None] * 4
    assert all(mark["view"] is None and mark["xy_px"] is None for mark in found["landmarks"])
    assert len(found["landmarks"]) == len(check.landmarks)


def test_floor_sheets_are_told_with_where_plumb_comes_from(check: FitCheck) -> None:
    told = tuple(
        replace(result, scale=replace(result.scale, floor=FloorSeen(("left", "right"), 11, 1.25))) if result.scale else result
        for result in check.photos
    )
    data = to_json(replace(check, photos=told))
    assert problems(data) == []
    assert data["photos"][0]["floor"] == {"sheets": ["left", "right"], "squares": 11, "plumb_from": "floor", "card_off_deg": 1.25}
    assert "above_floor_mm" not in data["photos"][0]["card"]


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("version",), 2),
        (("photos", 0, "view"), "above"),
        (("photos", 0, "sha256"), "short"),
        (("measurements", 0, "sd"), -1),
        (("measurements", 0, "sources"), {"pixel": "much"}),
        (("findings", 0, "verdict"), "maybe"),
        (("landmarks", 0, "xy_px"), [1, 2, 3]),
        (("round", 0, "side"), None),
        (("extra",), 1),
    ],
)
def test_the_schema_refuses_what_is_wrong(data: dict[str, Any], path: tuple[Any, ...], value: Any) -> None:
    wrong = json.loads(json.dumps(data))
    inner = wrong
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    assert len(problems(wrong)) == 1


def test_it_says_what_the_records_say(data: dict[str, Any], check: FitCheck) -> None:
    assert (data["version"], data["program"]) == (1, __version__)
    assert [photo["view"] for photo in data["photos"]] == ["front", "right", "back", "left"]
    scale = check.photos[1].scale
    assert scale is not None
    assert data["photos"][1]["card"] == {"markers": 12, "distance_mm": pytest.approx(scale.distance_mm, abs=0.1), "reprojection_px": 0.31}
    told = replace(check.photos[1], scale=replace(scale, above_floor=CardHeight(1120.04, 3.0, by_tilt_mm=450.0), hang_sd_deg=0.3))
    said = to_json(replace(check, photos=(told,)))
    assert problems(said) == []
    card = said["photos"][0]["card"]
    assert (card["above_floor_mm"], card["above_floor_sd_mm"]) == (1120.0, 3.8)  # 450 mm by 0.3 degrees is 2.36 mm
    assert data["photos"][3]["flags"] == ["turned"]
    first = data["measurements"][0]
    assert (first["id"], first["at"], first["side"], first["value"]) == ("shoulder_seam_behind", "tip", "wearer_left", 10.2)
    assert sum(sd**2 for sd in first["sources"].values()) == pytest.approx(first["sd"] ** 2, rel=1e-3)
    assert len(data["seams"]) == sum(len(result.seams) for result in check.photos)
    assert data["unmeasured"][0] == {"id": "underarm_gap", "at": "", "side": "wearer_right", "why": "The arm covers the underarm point."}
    assert data["findings"][0]["says"] == "The shoulder seams lie 1.0 cm behind the shoulder bone."
    (step,) = data["round"]
    assert step["steps"][1] == "On the front, take 1.0 cm off at the armhole, running to nothing at the neck."
    assert step["expect"][0] == {"measurement": "shoulder_seam_behind_tip_R", "from": 10.2, "to": 0.1}
    assert (step["id"], step["side"], step["amount_mm"], step["sd_mm"]) == ("forward_shoulder", "both", 10.1, 1.4)


def test_each_sighting_is_listed_with_the_point_it_belongs_to(data: dict[str, Any], check: FitCheck) -> None:
    sightings = [s for result in check.photos for s in result.sightings]
    solved = {(mark.name, mark.side): mark for mark in check.landmarks}
    for row, sighting in zip(data["landmarks"], sightings, strict=False):
        mark = solved[sighting.name, sighting.side]
        assert (row["name"], row["side"], row["view"], row["grade"]) == (sighting.name, sighting.side, sighting.view, sighting.grade)
        assert row["xy_px"] == pytest.approx(sighting.xy_px, abs=0.01)
        assert row["position_mm"] == pytest.approx(mark.position_mm, abs=0.01)
        assert row["sd_mm"] == np.max(mark.sd_mm)
    unseen = data["landmarks"][len(sightings) :]
    assert [row["name"] for row in unseen] == [mark.name for mark in check.landmarks if not mark.sightings]
    assert {"ear", "crown"} == {row["name"] for row in unseen}
    assert all(row["view"] is None for row in unseen)


def test_what_would_remain_and_the_tape_are_told(check: FitCheck) -> None:
    tape = (TapeCheck("waist", 740.0, 731.26, 13.1, 12.0, True), TapeCheck("bust_span", 250.0, 170.0, 2.0, 8.0, False))
    found = to_json(replace(check, tape=tape))
    assert problems(found) == []
    assert found["tape"][1] == {
        "id": "bust_span",
        "tape_mm": 250.0,
        "tape_sd_mm": 8.0,
        "own_mm": 170.0,
        "own_sd_mm": 2.0,
        "agrees": False,
    }
    for item in found["measurements"]:
        largest = item["sources"][item["largest_source"]]
        assert largest == max(item["sources"].values())
        assert item["would_be_sd"] ** 2 + largest**2 == pytest.approx(item["sd"] ** 2, rel=1e-3)


def test_results_of_before_they_were_told_stay_readable(data: dict[str, Any]) -> None:
    older = json.loads(json.dumps(data))
    del older["tape"]
    for item in older["measurements"]:
        del item["would_be_sd"], item["largest_source"]
    assert problems(older) == []
