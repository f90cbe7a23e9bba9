"""Plain words for ids: measurements, levels, sides, views, alterations, doubts."""

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from fitcheck.core.advice import Amount, Explanation
from fitcheck.core.camera import Scale
from fitcheck.core.check import PhotoResult
from fitcheck.core.drawing import SewnSeam
from fitcheck.core.flags import FLAGS, Flag
from fitcheck.core.points import CARD_PRINT_SD
from fitcheck.core.records import Measurement, Unmeasured
from fitcheck.core.side_words import SIDE_WORDS
from fitcheck.report.words.units import Units, length, quantity, quantity_margin

VIEW_TITLES = {"front": "Front", "right": "Your right side", "back": "Back", "left": "Your left side"}
MATTERS = 0.25  # a promise is worth a line where the uncertainty would drop by more than this share
_GUESSED = {"point_hidden", "marker_missing", "marker_guessed"}
_OF_ONE_PHOTO = ("pixel", "turn", "plumb")
_VIEW_PLACES = {"front": "your front", "right": "your right side", "back": "your back", "left": "your left side"}


Entry = dict[str, str]


@cache
def _words() -> dict[str, Any]:
    return tomllib.loads((files("fitcheck.report.words") / "words.toml").read_text("utf-8"))


def _entry(item: Measurement | Unmeasured) -> Entry | None:
    entries: dict[str, Entry] = _words()["measurements"]
    return entries.get(f"{item.id}_{item.at}") or entries.get(item.id)


def plain(id: str) -> str:
    """An id as words: `forward shoulder`.

    Examples
    --------
    >>> plain("full_bust")
    'full bust'
    """
    return id.replace("_", " ")


def side_words(side: str | None) -> str:
    """`your left`, `your right`, `both sides`, or nothing on the midline."""
    return SIDE_WORDS[side]


def measurement_name(item: Measurement | Unmeasured) -> str:
    """Which measurement this is: `Shoulder seam at the tip, your right`.

    An id without an entry in words.toml is shown as its own words.
    """
    entry = _entry(item)
    name = entry["name"] if entry else plain(item.id).capitalize()
    where = _words()["at"].get(item.at, f"at {plain(item.at)}" if item.at else "")
    return ", ".join(part for part in (f"{name} {where}".strip(), side_words(item.side)) if part)


def measurement_says(item: Measurement, units: Units) -> str:
    """The value in words: `1.0 cm behind the shoulder point`; only the amount where it rounds to nothing."""
    amount = quantity(item.value, item.unit, units)
    entry = _entry(item)
    if entry is None or amount.startswith(("0 ", "0.0°")):
        return amount
    return f"{amount.removeprefix('−')} {entry['plus' if item.value > 0 else 'minus']}"


def direction_of(item: Measurement) -> str:
    """Which part of the distance between body and garment is measured: `across` or `along` the plumb line, or `direct`."""
    return (_entry(item) or {}).get("direction", "direct")


def by_group(measurements: Sequence[Measurement]) -> list[tuple[str, list[Measurement]]]:
    """Measurements under the headings of words.toml, in its order; unknown ids last under `Other`."""
    titles = [*_words()["groups"], "Other"]
    sorted_in: dict[str, list[Measurement]] = {title: [] for title in titles}
    for item in measurements:
        entry = _entry(item)
        sorted_in[entry["group"] if entry else "Other"].append(item)
    return [(title, items) for title, items in sorted_in.items() if items]


@dataclass(frozen=True, slots=True)
class Doubt:
    """One source of uncertainty: its share of the whole (0-1), in words, and what would make it smaller."""

    share: float
    says: str
    remedy: str


def doubts(sources: dict[str, float], most: int = 2) -> list[Doubt]:
    """The largest sources of uncertainty, largest first.

    Shares are of the variance, since independent sources add by their squares (JCGM 100:2008, 5.1.2). A share under a tenth is left out.
    """
    total = sum(sd * sd for sd in sources.values())
    ranked = sorted(((sd * sd / total, name) for name, sd in sources.items() if sd), reverse=True)[:most] if total else []
    said, remedies = _words()["sources"], _words()["remedies"]
    return [Doubt(share, said.get(name, plain(name)), remedies.get(name, "")) for share, name in ranked if share >= 0.1]


def main_doubt(measurements: Sequence[Measurement]) -> Doubt | None:
    """The source that weighs most over all measurements (mean share of the variance), or None without any."""
    shares: dict[str, float] = {}
    for item in measurements:
        total = sum(sd * sd for sd in item.sources.values())
        for name, sd in item.sources.items():
            shares[name] = shares.get(name, 0.0) + (sd * sd / total if total else 0.0)
    ranked = doubts({name: share**0.5 for name, share in shares.items()}, 1)
    return ranked[0] if ranked else None


def without_largest(sources: dict[str, float]) -> tuple[str, float] | None:
    """The largest source of uncertainty and the standard uncertainty that would remain without it, or None without any."""
    if not any(sources.values()):
        return None
    name = max(sources, key=lambda one: sources[one])
    return name, math.sqrt(sum(sd * sd for other, sd in sources.items() if other != name))


def promise(item: Measurement, verdict: str | None, units: Units) -> str:
    """What would make an unclear measurement surer, and by how much; nothing where it would matter little or cannot be helped.

    Returns
    -------
    str
        `To be surer, retake your right side and stand with your feet on a taped line: ± 0.5 cm could become ± 0.2 cm.`, or "".
    """
    best = without_largest(item.sources)
    if best is None or verdict != "unclear" or best[1] > (1 - MATTERS) * item.sd:
        return ""
    source, remaining = best
    remedy = _words()["remedies"].get(source, "")
    if source == "definition" and not _GUESSED & set(item.flags):  # its sticker is on: no better is to be had
        return ""
    if source in _OF_ONE_PHOTO and item.view is not None:
        remedy = f"retake the photo of {_VIEW_PLACES[item.view]} and {remedy}"
    before, after = (quantity_margin(sd, item.unit, units) for sd in (item.sd, remaining))
    return f"To be surer, {remedy}: ± {before} could become ± {after}." if remedy and before != after else ""


def tape_name(id: str) -> str:
    """Which tape measurement: `Waist, around`."""
    return str(_words()["tape"].get(id, plain(id).capitalize()))


def flags_of(*codes: Sequence[str]) -> list[Flag]:
    """The flags behind several lists of codes, each once; a code without an entry shows as its own words."""
    return [FLAGS.get(code) or Flag(code, f"{plain(code).capitalize()}.", "") for code in unique(*codes)]


def flags_of_photo(result: PhotoResult) -> list[str]:
    """Every doubt about one photo, whichever stage had it, each once."""
    parts = (result, result.photo, result.scale, result.pose, result.standing)
    return unique(*(part.flags for part in parts if part is not None))


def unique(*lists: Sequence[str]) -> list[str]:
    """The members of several lists in order, each once."""
    return list(dict.fromkeys(item for one in lists for item in one))


def sides_say(one: float, two: float, units: Units) -> str:
    """The lengths of a seam's two sides, once where they read alike: `12.9 cm`, `20.1 cm / 21.3 cm`."""
    return " / ".join(unique([length(one, units)], [length(two, units)]))


def seam_changes(seam: SewnSeam, units: Units) -> bool:
    """Whether a seam reads otherwise after the alteration."""
    return sides_say(seam.before, seam.other_before, units) != sides_say(seam.after, seam.other_after, units)


def seam_says(seam: SewnSeam, units: Units) -> str:
    """`12.9 cm before, 13.4 cm after`, or `stays 12.9 cm`; two lengths where one side is eased in."""
    before, after = sides_say(seam.before, seam.other_before, units), sides_say(seam.after, seam.other_after, units)
    return f"{before} before, {after} after" if seam_changes(seam, units) else f"stays {after}"


def explanation_says(explanation: Explanation, units: Units) -> str:
    """The alterations of one explanation: `forward shoulder 0.9 cm on your left and 1.0 cm on your right, with sway back 1.2 cm`."""
    by_name: dict[str, list[Amount]] = {}
    for one in explanation.alterations:
        by_name.setdefault(one.name or plain(one.id), []).append(one)
    said = [f"{name} {' and '.join(_amount_where(one, units) for one in amounts)}" for name, amounts in by_name.items()]
    return ", with ".join(said) or "no alteration at all"


def _amount_where(one: Amount, units: Units) -> str:
    where = "" if one.side == "both" else f" on {side_words(one.side)}"
    return f"{length(abs(one.amount_mm), units)}{where}"


def sure_words(probability: float) -> str:
    """How likely an alteration is needed, in words."""
    steps = ((0.95, "almost certainly needed"), (0.8, "very likely needed"), (0.5, "probably needed"), (0.0, "perhaps needed"))
    return next(words for least, words in steps if probability >= least)


def how_much_worse(scale: Scale) -> str:
    """One sentence for the wearer: how exact a length is with this scale, against the scale card."""
    here, card = 2 * 100 * scale.scale_sd, 2 * 100 * CARD_PRINT_SD
    return (
        f"With this scale 100 mm are known to within {here:.1f} mm (95 %), with the printed scale card to within {card:.1f} mm: "
        f"about {max(1.0, here / card):.1f} times less exact."
    )
