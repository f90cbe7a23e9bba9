"""One posture number over time as a small SVG drawing.

Drawn here, not by a plotting library: importing one takes longer than the whole command may, and these drawings share the page's type,
colours and width.
"""

import math
from datetime import date
from xml.etree import ElementTree as ET

from fitcheck.core.diary import Trend
from fitcheck.core.lengths import MM_PER_INCH
from fitcheck.report.words.units import COVERAGE, Units, quantity

WIDTH, HEIGHT = 340.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 10.0, 12.0, 30.0
BLUE, ORANGE, GRID, SOFT = "#0072B2", "#D55E00", "#e3dacd", "#6f645a"
_MM_STEP = {"cm": 1.0, "in": MM_PER_INCH / 8}
_MOST_DATES = 3


def trend_plot(trend: Trend, units: Units) -> str:
    """Days as dots with their plus-or-minus, the robust line, and the band within which no change can be told.

    Parameters
    ----------
    trend : Trend
        With at least one day.
    units : {"cm", "in"}

    Returns
    -------
    str
        One `<svg>` element for use inside HTML.
    """
    days = [(one.day.toordinal(), one.value, COVERAGE * trend.sem / math.sqrt(one.repeats)) for one in trend.days]
    middle = sum(value for _, value, _ in days) / len(days)
    earlier = [value for _, value, _ in days[:-1]] or [middle]
    usual = sum(earlier) / len(earlier)
    low = min([usual - trend.mdc95, *(value - reach for _, value, reach in days)])
    high = max([usual + trend.mdc95, *(value + reach for _, value, reach in days)])
    first, last = days[0][0], max(days[-1][0], days[0][0] + 1)

    def x(day: float) -> float:
        return LEFT + 8 + (WIDTH - LEFT - RIGHT - 16) * (day - first) / (last - first)

    def y(value: float) -> float:
        return TOP + (HEIGHT - TOP - BOTTOM) * (high - value) / (high - low)

    svg = ET.Element("svg", {"class": "plot", "viewBox": f"0 0 {WIDTH:g} {HEIGHT:g}", "role": "img"})
    ET.SubElement(svg, "title").text = _alternative(trend, units)
    band = {"x": f"{LEFT:g}", "width": f"{WIDTH - LEFT - RIGHT:g}", "fill": BLUE, "fill-opacity": "0.09"}
    ET.SubElement(
        svg, "rect", band | {"y": f"{y(usual + trend.mdc95):.1f}", "height": f"{y(usual - trend.mdc95) - y(usual + trend.mdc95):.1f}"}
    )
    for value in _ticks(low, high, trend.unit, units):
        _line(svg, [(LEFT, y(value)), (WIDTH - RIGHT, y(value))], GRID, 1)
        _text(svg, quantity(value, trend.unit, units), LEFT - 6, y(value) + 4, "end")
    for day in _dates(first, last):
        _line(svg, [(x(day), HEIGHT - BOTTOM), (x(day), HEIGHT - BOTTOM + 4)], SOFT, 1)
        anchor = "start" if x(day) < LEFT + 30 else "end" if x(day) > WIDTH - RIGHT - 30 else "middle"
        _text(svg, f"{date.fromordinal(day):%b %Y}", x(day), HEIGHT - BOTTOM + 17, anchor)
    if len(days) > 2 and not math.isnan(trend.slope_per_year):
        # Through the middle of all days, as the intercept of a Theil-Sen line is a median too.
        offsets = sorted(value - trend.slope_per_year * (day - first) / 365.25 for day, value, _ in days)
        start = (offsets[(len(offsets) - 1) // 2] + offsets[len(offsets) // 2]) / 2
        end = start + trend.slope_per_year * (last - first) / 365.25
        _line(svg, [(x(first), y(start)), (x(last), y(end))], ORANGE if trend.claim else SOFT, 1.6, dash="" if trend.claim else "5 4")
    for day, value, reach in days:
        _line(svg, [(x(day), y(value - reach)), (x(day), y(value + reach))], BLUE, 1.4, opacity=0.45)
        ET.SubElement(svg, "circle", {"cx": f"{x(day):.1f}", "cy": f"{y(value):.1f}", "r": "3.6", "fill": BLUE})
    return ET.tostring(svg, encoding="unicode")


def _alternative(trend: Trend, units: Units) -> str:
    """The drawing in words; all its numbers stand in the table beside it."""
    start, end = trend.days[0], trend.days[-1]
    said = f"{start.day.isoformat()}: {quantity(start.value, trend.unit, units)}"
    return said if start is end else f"{said}; {end.day.isoformat()}: {quantity(end.value, trend.unit, units)}; {len(trend.days)} days"


def _ticks(low: float, high: float, unit: str, units: Units) -> list[float]:
    """Three to six round numbers of the reader's own unit."""
    step_of_unit = 1.0 if unit == "deg" else _MM_STEP[units]
    raw = (high - low) / 4 / step_of_unit
    power = 10 ** math.floor(math.log10(raw)) if raw > 0 else 1.0
    step = max(next(factor * power for factor in (1, 2, 5, 10) if factor * power >= raw), 1.0) * step_of_unit
    return [step * k for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _dates(first: int, last: int) -> list[int]:
    count = min(_MOST_DATES, max(2, (last - first) // 60 + 1))
    spread = [round(first + (last - first) * k / (count - 1)) for k in range(count)]
    named = {f"{date.fromordinal(day):%b %Y}": day for day in reversed(spread)}
    return sorted(named.values())


def _line(svg: ET.Element, ends: list[tuple[float, float]], colour: str, width: float, dash: str = "", opacity: float = 1.0) -> None:
    look = {"fill": "none", "stroke": colour, "stroke-width": f"{width:g}", "stroke-opacity": f"{opacity:g}"}
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in ends)
    ET.SubElement(svg, "polyline", look | {"points": points} | ({"stroke-dasharray": dash} if dash else {}))


def _text(svg: ET.Element, text: str, x: float, y: float, anchor: str) -> None:
    ET.SubElement(svg, "text", {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor, "font-size": "11", "fill": SOFT}).text = text
