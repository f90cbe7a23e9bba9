"""The document around every page."""

from fitcheck import __version__
from fitcheck.web.frame import STYLES, style


def test_every_page_has_the_bar_and_knows_where_it_is(asked):
    text = asked.get("/set-up").text
    assert text.count('aria-current="page"') == 1
    assert '<a href="/set-up" aria-current="page">Set-up</a>' in text
    assert f"fitcheck {__version__}. Everything stays on this computer." in text
    assert text.count("<main") == text.count("<h1>") == 1


def test_it_tells_lengths_in_her_units(recorded):
    """10 mm are 1.0 cm or 3/8 in."""
    assert "Forward shoulder</strong>, both sides: 1.0 cm" in recorded.get("/diary/1").text
    recorded.house.choose({"units": "in"})
    assert "Forward shoulder</strong>, both sides: 3/8 in" in recorded.get("/diary/1").text
    recorded.house.choose({"units": "cm"})
    assert "1.0 cm" in recorded.get("/diary/1").text


def test_numbers_are_kept_with_their_units(recorded):
    assert "1.0\u00a0cm" in recorded.get("/diary/1").body.decode("utf-8")


def test_the_reports_style_sheets_are_served_as_they_are():
    for name in STYLES:
        assert "@media print" in style(name)
    assert "body{" in style("report.css").replace(" ", "")


def test_an_unknown_page_stands_in_the_frame_too(asked):
    answer = asked.get("/nothing")
    assert answer.status == 404
    assert "There is no such page." in answer.text
    assert "Close fitcheck" in answer.text
