"""One fitting under one address, in whatever state it is."""

import json
import re
from pathlib import Path

import pytest
from web.asked import Asked, on_table

from fitcheck.body.placed import PlacedFile
from fitcheck.core.progress import AtPhoto
from fitcheck.web.case import Look
from fitcheck.web.work import Held, Work


@pytest.fixture
def work(asked, case) -> Work:
    return on_table(asked, case, wearer="Anna", garment="bodice")


def said(asked: Asked, work: Work) -> list[dict[str, object]]:
    """The events of a fitting with which nothing goes on any more."""
    text = asked.get(f"/fitting/{work.id}/events").text
    return [json.loads(line.removeprefix("data: ")) for line in text.split("\n\n") if line]


def test_a_draft_is_a_form(asked):
    work = asked.house.bench.begin()
    text = asked.get(f"/fitting/{work.id}").text
    assert f'action="/fitting/{work.id}/check"' in text
    assert "Check the fit" in text


def test_while_it_is_checked_it_says_how_far_it_is(asked):
    work = asked.house.bench.begin()
    work.add(Held("p1", Path("x.jpg"), Look((3, 4), None, "", b""), "back"))
    work.state = "checking"
    work.told("measuring", 0.7, AtPhoto("back", 1, 1))
    text = asked.get(f"/fitting/{work.id}").text
    assert 'role="status">measuring<' in text
    assert 'value="0.7"' in text
    assert '<li class="now" data-view="back">' in text
    assert "Reading your photos" in text
    work.filming = True
    assert "Reading your film" in asked.get(f"/fitting/{work.id}").text


def test_its_events_end_with_its_state(asked, work):
    (last,) = said(asked, work)
    assert last["state"] == "done"
    assert set(last) == {"state", "stage", "share", "view", "reads"}


def test_the_answer_and_what_can_be_done_with_it(asked, work):
    text = asked.get(f"/fitting/{work.id}").text
    assert "bodice <span>for Anna</span>" in text
    assert "Forward shoulder" in text
    for address in ("record", "again"):
        assert f'action="/fitting/{work.id}/{address}"' in text
    assert f'href="/fitting/{work.id}/report.html"' in text
    assert "a repeat of today" not in text


def test_it_is_written_anew_only_when_it_changes(asked, work, monkeypatch):
    first = asked.get(f"/fitting/{work.id}").text
    desk = asked.house.bench.desk
    monkeypatch.setattr(type(desk), "answer", lambda desk, case, units: f"written for {units}")
    assert asked.get(f"/fitting/{work.id}").text == first
    asked.house.choose({"units": "in"})
    assert "written for in" in asked.get(f"/fitting/{work.id}").text


def test_what_went_wrong_stands_above_the_form(asked):
    work = asked.house.bench.begin()
    work.state, work.trouble = "failed", ("No <card> was found.", "Print one.")
    text = asked.get(f"/fitting/{work.id}").text
    assert "No &lt;card&gt; was found.</strong> Print one." in text
    assert "Check the fit" in text


def test_recorded_and_recorded_again_after_something_was_put_right(asked, work):
    assert asked.post(f"/fitting/{work.id}/record").headers["location"] == f"/fitting/{work.id}#recorded"
    text = asked.get(f"/fitting/{work.id}").text
    assert 'Recorded in the diary as <a href="/diary/1">fitting 1</a>.' in text
    assert "Compare with the round before" not in text
    work.put_right(work.corrections.then(PlacedFile()))
    assert "Record what was put right" in asked.get(f"/fitting/{work.id}").text
    asked.post(f"/fitting/{work.id}/record")
    text = asked.get("/").text
    assert re.findall(r'class="tile" href="/diary/(\d)"', text) == ["1"]  # in its place, not beside it


def test_nobody_is_recorded_without_a_name(asked, case):
    work = on_table(asked, case)
    text = asked.get(f"/fitting/{work.id}").text
    assert '<input name="wearer" required' in text
    answer = asked.post(f"/fitting/{work.id}/record", {"wearer": " ", "garment": "coat"})
    assert answer.status == 400
    assert "The diary needs to know whose fitting this is." in answer.text
    assert "--wearer" not in answer.text
    assert not asked.house.has_diary
    assert asked.post(f"/fitting/{work.id}/record", {"wearer": "Berta", "garment": "coat"}).status == 303
    assert (work.facts.wearer, work.facts.garment) == ("Berta", "coat")


def test_what_is_not_checked_is_not_recorded(asked):
    work = asked.house.bench.begin()
    assert asked.post(f"/fitting/{work.id}/record", {"wearer": "a", "garment": "b"}).status == 409
    assert asked.get(f"/fitting/{work.id}/report.html").status == 409


def test_the_next_round_is_compared_and_a_repeat_of_the_day_is_not(asked, case, work):
    asked.post(f"/fitting/{work.id}/record")
    other = on_table(asked, case, wearer="Anna", garment="bodice")
    assert "a repeat of today’s fitting" in asked.get(f"/fitting/{other.id}").text
    other.folder.joinpath("x").touch()
    assert "a repeat of today’s fitting" not in asked.get(f"/fitting/{work.id}").text


def test_back_to_the_form_and_what_was_told_is_in_it(asked, work):
    assert asked.post(f"/fitting/{work.id}/again").headers["location"] == f"/fitting/{work.id}"
    text = asked.get(f"/fitting/{work.id}").text
    assert 'name="wearer" value="Anna"' in text
    assert 'value="bodice"' in text


def test_thrown_away_it_is_gone(asked):
    work = asked.house.bench.begin()
    assert asked.post(f"/fitting/{work.id}/clear").headers["location"] == "/"
    assert asked.get(f"/fitting/{work.id}").status == 404
    assert not work.folder.exists()


def test_as_a_file_to_keep(asked, work):
    answer = asked.get(f"/fitting/{work.id}/report.html")
    assert answer.headers["content-disposition"] == 'attachment; filename="report.html"'
    assert answer.text.startswith("<!DOCTYPE html>")
