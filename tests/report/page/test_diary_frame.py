"""What the pages of the diary share."""

import re
from datetime import date

import pytest
from jinja2 import UndefinedError

from fitcheck.core.diary import PostureDiary, Profile
from fitcheck.core.errors import KnowledgeError
from fitcheck.report.page.diary_frame import render_page


def posture(units="cm", **changes):
    facts = {"wearer": "Marta", "trends": (), "verdict": "It is {mm:25.4} more.", "outdated": (), "cautions": ()} | changes
    return render_page("posture.html.j2", units, posture=PostureDiary(**facts), shown=[], most=12)


def test_lengths_in_a_sentence_are_filled_in_her_units_and_kept_in_one_line():
    assert "It is 2.5\xa0cm more." in posture()
    assert "It is 1\xa0in more." in posture("in")


def test_one_file_that_asks_for_nothing():
    html = posture()
    assert html.lstrip().lower().startswith("<!doctype html>")
    assert "<style" in html
    assert not re.search(r'(?:src|href)="(?!#|data:)|url\((?!["\']?data:)|@import', html)


def test_a_name_is_no_markup():
    assert "<script>" not in posture(wearer="<script>alert(1)</script>")
    assert "&lt;script&gt;" in posture(wearer="<script>alert(1)</script>")


def test_a_field_that_nobody_fills_is_told():
    with pytest.raises(KnowledgeError, match=re.escape("{colour}")):
        posture(verdict="It is {colour}.")


def test_what_a_page_lacks_is_told_and_not_left_blank():
    with pytest.raises(UndefinedError):
        render_page("profile.html.j2", "cm", profile=Profile("Marta", "", 1, (), (), (), (), ()), rest=[], posture_names={})


def test_days_are_written_out():
    profile = Profile("Marta", "", 1, ("blouse",), (), (), (), ((date(2026, 4, 2), "Short waist."),))
    assert "2 April 2026" in render_page("profile.html.j2", "cm", profile=profile, often=[], rest=[], posture_names={})
