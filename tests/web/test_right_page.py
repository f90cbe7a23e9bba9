"""Putting right what was misread: the questions that the page of it asks. The fitting is a shoulder seam 10 mm behind."""

import json

import pytest
from web.asked import Answer, Asked, on_table

from fitcheck.web.work import Work

TIP = "shoulder_seam_behind_tip_R"


@pytest.fixture
def work(asked, case) -> Work:
    return on_table(asked, case, garment="bodice")


def number(marks: dict) -> float:
    return next(one["value"] for one in marks["numbers"] if one["key"] == TIP)


def send(asked: Asked, work: Work, what: str, body: object = None) -> Answer:
    return asked.post(f"/fitting/{work.id}/{what}", json.dumps(body).encode(), "*/*")


def marks(asked: Asked, work: Work) -> dict:
    return asked.get(f"/fitting/{work.id}/marks.json").data


def forward(marks: dict, by_px: float) -> dict:
    """Her shoulder point, so much further to the right in the picture, which is forward."""
    point = next(p for p in marks["photos"][0]["points"] if (p["name"], p["side"]) == ("shoulder_point", "wearer_right"))
    x, y = point["xy"]
    return {"point": [{"name": "shoulder_point", "side": "wearer_right", "view": "right", "xy": [x + by_px, y]}], "seam": []}


def test_the_page_begins_with_a_view_that_there_is(asked, work):
    for asks in ("", "?view=right", "?view=back", "?view=<b>"):
        text = asked.get(f"/fitting/{work.id}/right{asks}").text
        assert 'data-view="right"' in text
        assert text.count('aria-pressed="true"') == 1
    assert asked.get(f"/fitting/{asked.house.bench.begin().id}/right").status == 409


def test_what_there_is_to_move(asked, work):
    found = marks(asked, work)
    assert number(found) == pytest.approx(10, abs=2)
    assert (found["back"], found["forth"], found["unit"]) == (False, False, "cm")
    assert {"name": "centre_front", "side": "", "says": "Centre front"} in found["seams"]


def test_put_right_undone_and_done_again(asked, work):
    """12 pixels forward: the seam lies further behind the point."""
    before = marks(asked, work)
    after = send(asked, work, "placed", forward(before, 12)).data
    assert number(after) > number(before) + 3
    assert (after["back"], after["forth"]) == (True, False)
    assert (work.folder / "placed.toml").exists()
    undone = send(asked, work, "back").data
    assert number(undone) == number(before)
    assert (undone["back"], undone["forth"]) == (False, True)
    assert number(send(asked, work, "back").data) == number(before)  # no further than the beginning
    assert number(send(asked, work, "forth").data) == number(after)
    assert number(marks(asked, work)) == number(after)


def test_trials_change_nothing(asked, work):
    before = marks(asked, work)
    version = work.version
    asked_for = [forward(before, by) for by in (0, 6, 12)]
    found = [one[TIP] for one in send(asked, work, "trial", asked_for).data]
    assert found[0] < found[1] < found[2]
    assert work.version == version
    assert marks(asked, work) == before


@pytest.mark.parametrize("body", [[], [{}] * 4, {}, "x", None])
def test_up_to_three_trials_at_a_time(asked, work, body):
    answer = send(asked, work, "trial", body)
    assert answer.status == 400
    assert answer.data["problem"] == "Up to three trials are made at a time."


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"\xff",
        b"7",
        b'{"point": [{"name": "nothing", "view": "right", "xy": [1, 2]}]}',
        b'{"more": 1}',
        b'{"point": [{"name": "waist_front", "view": "right", "xy": [1e9, 2]}]}',
    ],
)
def test_what_cannot_be_a_correction_changes_nothing(asked, work, body):
    before = marks(asked, work)
    answer = asked.post(f"/fitting/{work.id}/placed", body, "*/*")
    assert answer.status == 400
    assert answer.data["problem"].endswith(".")
    assert ".toml" not in answer.data["problem"]
    assert marks(asked, work) == before


def test_the_photo_and_the_drawings(asked, work):
    assert asked.get(f"/fitting/{work.id}/upright/right.jpg").body.startswith(b"\xff\xd8")
    assert asked.get(f"/fitting/{work.id}/upright/back.jpg").status == 404
    assert "Forward shoulder" in asked.get(f"/fitting/{work.id}/steps.html").text
