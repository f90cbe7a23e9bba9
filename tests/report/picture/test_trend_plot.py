"""The drawing shows the numbers it is given."""

import math
import re
from datetime import date
from xml.etree import ElementTree as ET

import pytest

from fitcheck.core.diary import Day, Trend
from fitcheck.report.picture.trend_plot import HEIGHT, WIDTH, trend_plot


def trend(*values: float, unit: str = "mm", claim: str = "") -> Trend:
    days = tuple(Day(date(2024 + k, 3, 1), value, 1) for k, value in enumerate(values))
    return Trend("stature", None, unit, days, 2.0, 0, 5.5, 10.0 if len(values) > 1 else math.nan, 0.0, 0.0, 0.0, 1.0, claim)


def test_dots_stand_where_their_values_are():
    svg = ET.fromstring(trend_plot(trend(40.0, 50.0, 60.0), "cm"))
    dots = [(float(c.get("cx")), float(c.get("cy"))) for c in svg.iter("circle")]
    assert len(dots) == 3
    assert dots[0][1] - dots[1][1] == pytest.approx(dots[1][1] - dots[2][1], abs=0.2)  # equal steps up
    assert dots[1][0] - dots[0][0] == pytest.approx(dots[2][0] - dots[1][0], rel=0.01)  # equal years
    assert all(0 < x < WIDTH and 0 < y < HEIGHT for x, y in dots)


def test_ticks_are_round_in_the_readers_unit():
    words = [t.text for t in ET.fromstring(trend_plot(trend(1630.0, 1640.0), "cm")).iter("text")]
    assert any(re.fullmatch(r"16\d\.\d cm", word) for word in words)
    inches = [t.text for t in ET.fromstring(trend_plot(trend(1630.0, 1640.0), "in")).iter("text")]
    assert any(word.endswith(" in") for word in inches)
    assert "Mar 2024" in words


def test_one_day_and_equal_days_can_be_drawn():
    assert trend_plot(trend(40.0), "cm").count("<circle") == 1
    assert trend_plot(trend(40.0, 40.0), "cm").count("<circle") == 2


def test_a_claimed_line_is_solid():
    assert "stroke-dasharray" in trend_plot(trend(40.0, 41.0, 42.0), "cm")
    assert "stroke-dasharray" not in trend_plot(trend(40.0, 50.0, 60.0, claim="trend"), "cm")
