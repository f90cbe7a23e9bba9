"""Home: who is there, what lies on the table."""

import re
from datetime import date

from diary.conftest import fit_check, new_fitting
from web.asked import on_table

from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary
from fitcheck.web.home_page import _wearer


def headings(text: str, level: int) -> list[str]:
    return [re.sub(r"<[^>]*>", "", one) for one in re.findall(rf"<h{level}[^>]*>(.*?)</h{level}>", text)]


def test_the_first_time_it_says_how_to_begin(asked):
    text = asked.get("/").text
    assert headings(text, 2) == ["To begin"]
    assert text.count("<li><strong>") == 3
    assert "On the table" not in text


def test_wearers_with_their_garments_and_the_newest_round_first(recorded):
    text = recorded.get("/").text
    assert headings(text, 2) == ["Anna", "Berta"]
    assert headings(text, 3) == ["bodice", "coat"]
    assert re.findall(r'class="tile" href="/diary/(\d)"', text) == ["2", "1", "3"]
    assert re.findall(r'href="/compare/(\d)/(\d)"', text) == [("1", "2")]
    assert "Next round of coat" in text


def test_a_repeat_is_no_round_to_compare_with(recorded):
    with Diary(recorded.house.diary_folder) as diary:
        record(diary, new_fitting(fit_check(4), day=date(2026, 4, 2), retake=True))
        record(diary, new_fitting(fit_check(5), day=date(2026, 4, 9)))
        rounds = _wearer(diary, "Anna").garments[0].rounds
    assert [(one.entry.number, one.before) for one in rounds] == [(5, 2), (4, 2), (2, 1), (1, 0)]


def test_the_garment_fitted_last_comes_first(recorded):
    with Diary(recorded.house.diary_folder) as diary:
        record(diary, new_fitting(fit_check(6), garment="apron", day=date(2026, 4, 9)))
        assert [garment.name for garment in _wearer(diary, "Anna").garments] == ["apron", "bodice"]
        record(diary, new_fitting(fit_check(7), day=date(2026, 4, 10)))
        assert [garment.name for garment in _wearer(diary, "Anna").garments] == ["bodice", "apron"]


def test_on_the_table_is_what_would_be_lost(asked, case):
    asked.house.bench.begin()  # nothing in it
    assert "On the table" not in asked.get("/").text
    work = on_table(asked, case, wearer="Anna", garment="<i>coat")
    text = asked.get("/").text
    assert "&lt;i&gt;coat for Anna" in text
    assert f'href="/fitting/{work.id}"' in text
    work.recorded, work.recorded_version = 1, work.version
    assert "On the table" not in asked.get("/").text
    work.version += 1  # put right after it was recorded
    assert "On the table" in asked.get("/").text
