"""Posture over time: what changed for certain, and which earlier alterations that concerns. Tracked, never diagnosed.

A change is claimed only when it is larger than the smallest detectable change (MDC95), and so large that among all numbers of a diary
in which nothing changed a false claim comes up in at most one diary of twenty (Bonferroni). Two questions are put to every number: does it
drift along a robust line, and does the latest day lie apart from all days before.
"""

import math
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from fitcheck.core.advice import Amount
from fitcheck.core.check import PostureValue
from fitcheck.core.diary import Day, Entry, Names, NoLongerHolds, PostureDiary, Trend, name_of
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.records import Floats, Side
from fitcheck.diary.reading import hers, posture_rows
from fitcheck.diary.statistics import mdc95, t_quantile, technical_error, theil_sen
from fitcheck.diary.store import Diary

DEFAULT_WORTH = 10  # the photos' own uncertainty counts as much as that many degrees of freedom of her repeats (estimate)
FALSE_DIARIES = 0.05
LINE_FROM_DAYS = 3
YEAR_DAYS = 365.25
WORTH_SAYING_MM = 2.0

Key = tuple[str, Side | None]


@cache
def posture_table() -> dict[str, dict[str, Any]]:
    """`posture.toml`, checked.

    Raises
    ------
    KnowledgeError
        A block, or a part of it, lacks its source.
    """
    table = tomllib.loads(files("fitcheck.diary").joinpath("posture.toml").read_text("utf-8"))
    for id, row in table.items():
        if not all(part.get("source") for part in (row, *row.get("alters", ()), *([row["caution"]] if "caution" in row else ()))):
            raise KnowledgeError(f"The posture number '{id}' lacks a source.", "Complete its block in posture.toml.")
    return table


def posture_diary(diary: Diary, wearer: str, names: Names) -> PostureDiary:
    """Posture of one wearer from all her fittings.

    Parameters
    ----------
    names : dict of (alteration id, amount above zero) to str

    Raises
    ------
    DiaryError
        The diary does not know her.
    """
    her = diary.wearer(wearer)
    rows = posture_rows(diary, her)
    trends = find_trends(rows)
    return PostureDiary(her, trends, _verdict(trends), _outdated(diary, her, trends, rows, names), _cautions(trends))


def find_trends(rows: Sequence[tuple[Entry, PostureValue]]) -> tuple[Trend, ...]:
    """Every posture number over its days.

    Parameters
    ----------
    rows : sequence of (Entry, PostureValue)
        In the order of days; fittings of one day are repeats of each other.
    """
    series: dict[Key, list[tuple[Entry, PostureValue]]] = {}
    for entry, value in rows:
        series.setdefault((value.id, value.side), []).append((entry, value))
    known = [key for key in posture_table() if any(id == key for id, _ in series)]
    ordered = [(key, series[key]) for id in known for key in series if key[0] == id]
    families = {id for (id, _), values in ordered if _judged(id) and len({e.day for e, _ in values}) > 1}
    return tuple(_trend(key, values, max(len(families), 1)) for key, values in ordered)


def _judged(id: str) -> bool:
    return bool(posture_table()[id].get("judged", True))


def _trend(key: Key, values: Sequence[tuple[Entry, PostureValue]], families: int) -> Trend:
    by_day: dict[Any, list[float]] = {}
    for entry, value in values:
        by_day.setdefault(entry.day, []).append(value.value)
    days = tuple(Day(day, float(np.mean(found)), len(found)) for day, found in sorted(by_day.items()))
    photos = float(np.median([value.sd for _, value in values]))
    repeats, free = _pooled(photos, [found for found in by_day.values() if len(found) > 1])
    sem = math.hypot(repeats, posture_table()[key[0]]["natural_sd"])
    line = (math.nan,) * 3
    x = np.array([(one.day - days[0].day).days / YEAR_DAYS for one in days])
    y = np.array([one.value for one in days])
    if len(days) > 1:
        line = theil_sen(y, x)
    trend = Trend(key[0], key[1], values[0][1].unit, days, sem, free, mdc95(sem), *line, 0.0, math.nan, "")
    if len(days) < 2 or not _judged(key[0]):
        return trend
    # her two sides and the two questions are all chances for a false claim
    sides = 2 if key[1] else 1
    level = FALSE_DIARIES / families / sides / (2 if len(days) >= LINE_FROM_DAYS else 1) / 2
    limit = t_quantile(1 - level, DEFAULT_WORTH + free) if free else t_quantile(1 - level, math.inf)
    return _judge(trend, x, y, repeats, limit)


def _pooled(default: float, repeats: Sequence[Sequence[float]]) -> tuple[float, int]:
    """How well photos repeat: their own uncertainty and her repeats, each with its weight (Smyth 2004, moderated variance; from memory)."""
    own, free = technical_error(repeats)
    if not free:
        return default, 0
    return math.sqrt((DEFAULT_WORTH * default**2 + free * own**2) / (DEFAULT_WORTH + free)), free


def _judge(trend: Trend, x: Floats, y: Floats, photo_sd: float, limit: float) -> Trend:
    """Whether the number drifted, or its latest day lies apart from all days before.

    A drift must show twice: along the robust line it is larger than the smallest detectable change, which no single odd day can do; along
    the least-squares line, whose uncertainty is known exactly, it is certain.
    """
    # repeats of a day make its photos surer, not the day
    variance = trend.sem**2 - photo_sd**2 * (1 - 1 / np.array([day.repeats for day in trend.days]))
    latest = float(y[-1] - y[:-1].mean())
    latest_sd = float(np.sqrt(variance[-1] + variance[:-1].sum() / (len(y) - 1) ** 2))
    if len(y) >= LINE_FROM_DAYS:
        middle = (x - x.mean()) * (x[-1] - x[0]) / float(((x - x.mean()) ** 2).sum())
        change, sd = trend.slope_per_year * float(x[-1] - x[0]), float(np.sqrt((middle**2 * variance).sum()))
        drifted = abs(change) > trend.mdc95 and abs(float(middle @ y)) > limit * sd
        trend = replace(trend, change=change, change_sd=sd, claim="trend" if drifted else "")
    else:
        trend = replace(trend, change=latest, change_sd=latest_sd)
    if not trend.claim and abs(latest) > max(trend.mdc95, limit * latest_sd):
        return replace(trend, change=latest, change_sd=latest_sd, claim="latest")
    return trend


def _verdict(trends: Sequence[Trend]) -> str:
    days = {day.day for trend in trends for day in trend.days}
    if not days:
        return "No fitting in the diary has posture numbers yet."
    if len(days) < 2:
        return "All fittings are of one day, so nothing can have changed yet. Fittings of other days will show it."
    claimed = [trend for trend in trends if trend.claim]
    if not claimed:
        return "No change of posture that is larger than what these photos can tell apart."
    by_way: dict[str, list[Trend]] = {}
    for trend in claimed:
        by_way.setdefault(posture_table()[trend.id]["more" if trend.change > 0 else "less"], []).append(trend)
    said = [f"{way} by {' and '.join(f'{_size(t)}{_side(t.side)}' for t in found)}" for way, found in by_way.items()]
    return f"Changed since the first fittings: {'; '.join(said)}."


def _size(trend: Trend) -> str:
    return f"{{{trend.unit}:{abs(trend.change):.1f}}}"


def _side(side: Side | None) -> str:
    return {"wearer_left": " on your left", "wearer_right": " on your right", None: ""}[side]


def _cautions(trends: Sequence[Trend]) -> tuple[str, ...]:
    said = []
    for trend in trends:
        caution = posture_table()[trend.id].get("caution")
        if (
            trend.claim
            and caution
            and (trend.change <= caution["beyond"] if caution["beyond"] < 0 else abs(trend.change) >= caution["beyond"])
        ):
            said.append(caution["says"])
    return tuple(dict.fromkeys(said))


def _outdated(
    diary: Diary, wearer: str, trends: Sequence[Trend], rows: Sequence[tuple[Entry, PostureValue]], names: Names
) -> tuple[NoLongerHolds, ...]:
    """The last amount of each alteration of each garment that a claimed change has made too small or too large since."""
    claims = [(trend, link) for trend in trends if trend.claim for link in posture_table()[trend.id].get("alters", ())]
    if not claims:
        return ()
    entries = {entry.number: entry for entry, _ in rows}
    made = _made(diary, wearer)
    found: dict[tuple[str, str, str], NoLongerHolds] = {}
    for trend, link in claims:
        for number, amount in made:
            if amount.id != link["alteration"] or (trend.side and amount.side not in ("both", trend.side)) or number not in entries:
                continue
            off = link["per_unit"] * _since(trend, entries[number])
            if abs(off) >= WORTH_SAYING_MM:
                found[entries[number].garment, amount.id, amount.side] = _no_longer(entries[number], amount, off, name_of(amount, names))
    return tuple(found.values())


def _since(trend: Trend, entry: Entry) -> float:
    """How much the number changed from the day of a fitting to the latest day."""
    if trend.claim == "trend":
        return trend.slope_per_year * (trend.days[-1].day - entry.day).days / YEAR_DAYS
    return trend.change if entry.day < trend.days[-1].day else 0.0


def _no_longer(entry: Entry, amount: Amount, off: float, name: str) -> NoLongerHolds:
    # An amount grows in its own direction: what adds to a negative amount makes it too small as well.
    small = off * amount.amount_mm > 0
    garment = entry.garment.translate({ord("{"): "(", ord("}"): ")"})  # braces mark the lengths in a sentence
    says = (
        f"The {name} amount of {entry.day:%B %Y} ({{mm:{abs(amount.amount_mm):.1f}}}, {garment}) is now about "
        f"{{mm:{abs(off):.1f}}} too {'small' if small else 'large'}."
    )
    return NoLongerHolds(amount.id, entry, amount.amount_mm, off, says)


def _made(diary: Diary, wearer: str) -> list[tuple[int, Amount]]:
    """Alterations advised at her fittings, oldest first."""
    rows = diary.checked("advised", "fitting, now, alteration, side, amount_mm, sd_mm, probability", *hers(diary, wearer))
    made: dict[int, list[Amount]] = {}
    for number, now, *amount in rows:
        if now:
            made.setdefault(number, []).append(Amount(*amount))
    return [(entry.number, amount) for entry in diary.entries(wearer) for amount in made.get(entry.number, ())]
