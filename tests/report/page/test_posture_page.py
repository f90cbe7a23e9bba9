"""Posture over time: which way it went, by how much, and no change where none is claimed."""

from datetime import date

import pytest

from fitcheck.core.diary import Day, PostureDiary, Trend
from fitcheck.report.page.posture_page import posture_page

TABLE = {
    "head": {"name": "head over shoulders", "more": "head further back", "less": "head further forward"},
    "back": {"name": "back length", "more": "longer back", "less": "shorter back"},
}


def trend(id="head", unit="deg", change=3.0, claim="trend", days=4, retakes=2, **changes):
    listed = tuple(Day(date(2026, 1 + month, 5), 50.0 + month, 1) for month in range(days))
    facts = {"sem": 0.7, "mdc95": 2.0, "slope_per_year": 12.0, "slope_low": 6.0, "slope_high": 18.0, "change_sd": 0.5} | changes
    return Trend(id=id, side=None, unit=unit, days=listed, retakes=retakes, change=change, claim=claim, **facts)


def page(*trends, units="cm"):
    return posture_page(PostureDiary("Marta", trends, "All told.", (), ()), TABLE, units).replace("\xa0", " ")


@pytest.mark.parametrize(("change", "way"), [(3.0, "Head further back"), (-3.0, "Head further forward")])
def test_a_change_has_a_way_and_a_size_without_a_sign(change, way):
    assert f"{way} over the whole diary, by 3.0° ± 1.0°." in page(trend(change=change))


def test_a_change_of_the_latest_day():
    assert "Head further back on the latest day against all before, by 3.0°" in page(trend(claim="latest"))


def test_what_is_not_claimed_is_no_change():
    html = page(trend(claim=""))
    assert "No change for certain. Per year 12.0° (6.0° to 18.0°)." in html
    assert "by 3.0°" not in html
    assert "further back" not in html


def test_one_day_tells_nothing_but_how_much_two_will():
    html = page(trend(days=1, claim="", retakes=0))
    assert "One day only. Two fittings tell changes from 2.0° apart (by default, for want of repeats)." in html
    assert "No change" not in html


def test_two_days_have_no_yearly_slope():
    html = page(trend(days=2))
    assert "Per year" not in html
    assert "Two fittings tell changes from 2.0° apart (your repeats counted)." in html


def test_lengths_are_in_her_units():
    back = trend("back", "mm", change=-25.4, mdc95=12.7, change_sd=3.0)
    assert "Shorter back over the whole diary, by 1 in ± 1/4 in." in page(back, units="in")
    assert "by 2.5 cm ± 0.6 cm." in page(back)


def test_what_changed_comes_first():
    html = page(trend(claim=""), trend("back", "mm"))
    assert html.index("Back length") < html.index("Head over shoulders")
