"""Posture over time as one page: what changed, what that means for earlier alterations, and each number drawn and listed."""

from collections.abc import Mapping
from typing import Any

from markupsafe import Markup

from fitcheck.core.diary import PostureDiary, Trend
from fitcheck.report.page.diary_frame import render_page
from fitcheck.report.picture.trend_plot import trend_plot
from fitcheck.report.words.units import Units, quantity, quantity_margin

SHOWN_DAYS = 12


def posture_page(posture: PostureDiary, table: Mapping[str, Mapping[str, Any]], units: Units) -> str:
    """The page.

    Parameters
    ----------
    table : dict of posture id to its row
        Words of each number, as in the diary's posture.toml.

    Raises
    ------
    KnowledgeError
        A sentence has a field that cannot be filled.
    """
    return render_page("posture.html.j2", units, **posture_content(posture, table, units))


def posture_content(posture: PostureDiary, table: Mapping[str, Mapping[str, Any]], units: Units) -> dict[str, Any]:
    """What the page of her posture is filled with; parameters as `posture_page`."""
    shown = [
        (trend, table[trend.id], Markup(trend_plot(trend, units)), _judgement(trend, table[trend.id], units)) for trend in posture.trends
    ]
    return {"posture": posture, "shown": sorted(shown, key=lambda one: not one[0].claim), "most": SHOWN_DAYS}


def _judgement(trend: Trend, row: Mapping[str, Any], units: Units) -> str:
    """What the numbers say, in one or two sentences."""
    least = quantity(trend.mdc95, trend.unit, units)
    basis = "your repeats counted" if trend.retakes else "by default, for want of repeats"
    if len(trend.days) < 2:
        return f"One day only. Two fittings tell changes from {least} apart ({basis})."
    said = []
    if trend.claim:
        way = row["more"] if trend.change > 0 else row["less"]
        how = "over the whole diary" if trend.claim == "trend" else "on the latest day against all before"
        size, margin = quantity(abs(trend.change), trend.unit, units), quantity_margin(trend.change_sd, trend.unit, units)
        said.append(f"{way[:1].upper()}{way[1:]} {how}, by {size} ± {margin}.")
    else:
        said.append("No change for certain.")
    if len(trend.days) > 2:
        ends = [quantity(value, trend.unit, units) for value in (trend.slope_per_year, trend.slope_low, trend.slope_high)]
        said.append(f"Per year {ends[0]} ({ends[1]} to {ends[2]}).")
    said.append(f"Two fittings tell changes from {least} apart ({basis}).")
    return " ".join(said)
