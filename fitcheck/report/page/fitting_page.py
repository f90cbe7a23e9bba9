"""One fitting as one self-contained HTML page: nothing is loaded from outside, nothing needs a script."""

import string
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fitcheck import __version__
from fitcheck.core.advice import Explanation, Finding
from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.flags import Flag
from fitcheck.core.records import Measurement, Unmeasured, Verdict, View
from fitcheck.report.picture import overlay as drawing
from fitcheck.report.picture.crops import Box, detail_boxes, jpeg_data, main_box
from fitcheck.report.picture.fold_lines import DrawnFold, drawn_folds, readings
from fitcheck.report.picture.gaps import Gap, gaps_in
from fitcheck.report.picture.points import with_body_points
from fitcheck.report.words import sentences as words
from fitcheck.report.words import units as write
from fitcheck.report.words.units import Units

_PHOTO_HEIGHT_PX, _DETAIL_HEIGHT_PX = 1000, 420
_PHONE_PX, _DETAIL_PX = 343, 343  # width of a picture on a 375 px wide phone
_LIKELY = 0.05
_MOST_DETAILS, _ENOUGH_DETAILS = 3, 2
_THREADS = 2
_URGENCY: dict[Verdict | None, int] = {"present": 0, "unclear": 1, "absent": 2, None: 3}


@dataclass(frozen=True, slots=True)
class Said:
    """One measurement in words."""

    name: str
    says: str
    margin: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Detail:
    """An enlarged part of a photo."""

    letter: str
    image: str
    overlay: Markup
    size: tuple[int, int]
    gaps: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo with its overlay, its details and its doubts."""

    view: View
    title: str
    name: str
    image: str
    overlay: Markup
    size: tuple[int, int]
    details: tuple[Detail, ...]
    also: tuple[Said, ...]
    facts: str
    flags: tuple[Flag, ...]


def render(check: FitCheck, units: Units) -> str:
    """Write the report of one fitting.

    Parameters
    ----------
    check : FitCheck
    units : {"cm", "in"}

    Returns
    -------
    str
        A whole HTML document.

    Raises
    ------
    KnowledgeError
        A sentence has a field that cannot be filled.
    """
    page: str = environment(units).get_template("report.html.j2").render(put_right="", sheets="", **content(check, units))
    return write.keep_together(page)


def content(check: FitCheck, units: Units) -> dict[str, Any]:
    """What the templates of a report are filled with.

    Parameters
    ----------
    check : FitCheck
    units : {"cm", "in"}
    """
    check = _with_full_doubt(check)
    verdicts = verdicts_of(check.findings)
    return {
        "check": check,
        "version": __version__,
        "pictures": _pictures(check, verdicts, units),
        "readings": readings(check),
        "present": [finding for finding in check.findings if finding.verdict == "present"],
        "unclear": [finding for finding in check.findings if finding.verdict == "unclear" and finding.decidable],
        "absent": [finding for finding in check.findings if finding.verdict == "absent"],
        "verdicts": verdicts,
        "named": {item.key: item for item in check.measurements},
        "groups": words.by_group(check.measurements),
        "widest": {unit: _widest(check.measurements, unit) for unit in ("mm", "deg")},
        "flags": words.flags_of(check.flags),
        "main_doubt": words.main_doubt(check.measurements),
        "notes": words.flags_of(*(finding.flags for finding in check.findings), *(item.flags for item in check.measurements)),
        "unmeasured": _by_reason(check.unmeasured),
        "others": _others(check),
        "measured": any(value for name, value in check.settings.get("tape", {}).items() if name != "unit"),
    }


def _with_full_doubt(check: FitCheck) -> FitCheck:
    """Every measurement with the doubt that its finding was judged by, so that one number has one plus-or-minus on the whole page."""
    full = {key: sd for finding in check.findings for key, sd in zip(finding.measurements, finding.sds, strict=False)}
    return replace(check, measurements=tuple(_doubted(m, full.get(m.key, m.sd)) for m in check.measurements))


def _doubted(item: Measurement, sd: float) -> Measurement:
    if sd <= item.sd:
        return item
    return replace(item, sd=sd, sources=item.sources | {"meaning": (sd**2 - item.sd**2) ** 0.5})


def _others(check: FitCheck) -> list[Explanation]:
    """Likely explanations by other alterations than this round's."""
    chosen = {(step.amount.id, step.amount.side) for step in check.round.steps}
    return [one for one in check.explanations[:4] if one.weight >= _LIKELY and {(a.id, a.side) for a in one.alterations} != chosen]


def _by_reason(unmeasured: Sequence[Unmeasured]) -> list[tuple[str, list[str]]]:
    """What could not be measured, under each reason once."""
    reasons: dict[str, list[str]] = {}
    for item in unmeasured:
        reasons.setdefault(item.why, []).append(words.measurement_name(item))
    return list(reasons.items())


def verdicts_of(findings: Sequence[Finding]) -> dict[str, Verdict]:
    """The weightiest verdict on each measurement, by its key."""
    verdicts: dict[str, Verdict] = {}
    for finding in sorted(findings, key=lambda one: _URGENCY[one.verdict]):
        for key in finding.measurements:
            verdicts.setdefault(key, finding.verdict)
    return verdicts


@cache
def environment(units: Units) -> Environment:
    """The templates of a report, with their words."""
    made = Environment(
        loader=PackageLoader("fitcheck.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.filters |= {
        "fill": lambda text, amount_mm=None: write.fill(text, units, amount_mm),
        "length_of": lambda mm: write.length(abs(mm), units),
        "amount_of": lambda mm: write.amount(mm, units),
        "explained": lambda one: words.explanation_says(one, units),
        "margin": lambda sd: write.margin(sd, units),
        "plain": words.plain,
        "sentence": lambda text: text[:1].upper() + text[1:],
        "side": words.side_words,
        "sure": words.sure_words,
        "name": words.measurement_name,
        "says": lambda item: words.measurement_says(item, units),
        "item_margin": lambda item: write.quantity_margin(item.sd, item.unit, units),
        "reading": lambda value, item: words.measurement_says(replace(item, value=value), units) if item else write.length(value, units),
        "doubts": words.doubts,
        "promise": lambda item, verdict: words.promise(item, verdict, units),
        "tape": words.tape_name,
        "changes": lambda seam: words.seam_changes(seam, units),
        "sides": lambda one, two: words.sides_say(one, two, units),
    }
    made.globals |= {"colour_of": drawing.colour_of, "coverage": write.COVERAGE}
    return made


@dataclass(frozen=True, slots=True)
class _Shown:
    """What will be shown of one photo: its gaps, most urgent first, and the parts enlarged with their letters."""

    result: PhotoResult
    gaps: list[Gap]
    details: list[tuple[str, Box, list[Gap]]]
    folds: Sequence[DrawnFold]


def _pictures(check: FitCheck, verdicts: Mapping[str, Verdict], units: Units) -> list[Picture]:
    letters = iter(string.ascii_uppercase)
    shown = [
        _shown(with_body_points(result, check.landmarks), check.measurements, verdicts, letters, drawn_folds(check, result.photo.view))
        for result in check.photos
    ]
    with ThreadPoolExecutor(_THREADS) as pool:  # Python's lock is free while a photo is scaled and encoded
        return list(pool.map(lambda one: _picture(one, verdicts, units), shown))


def _shown(
    result: PhotoResult,
    measurements: Sequence[Measurement],
    verdicts: Mapping[str, Verdict],
    letters: Iterator[str],
    folds: Sequence[DrawnFold],
) -> _Shown:
    # Ties keep the order of the findings' own measurements: sorted() is stable.
    gaps = sorted(gaps_in(result, measurements), key=lambda gap: (_URGENCY[verdicts.get(gap.item.key)], -abs(gap.item.value)))
    parts = sorted(_details_of(result, gaps, verdicts), key=lambda one: one[0].top)
    return _Shown(result, gaps, [(next(letters), part, held) for part, held in parts], folds)


def _picture(shown: _Shown, verdicts: Mapping[str, Verdict], units: Units) -> Picture:
    result, gaps, details, folds = shown.result, shown.gaps, shown.details, shown.folds
    box = main_box(result, gaps)
    enlarged = {gap.item.key for _, _, held in details for gap in held}
    frames = [(letter, part) for letter, part, _ in details]
    drawn = drawing.overlay(result, gaps, verdicts, units, drawing.Pane(box, _PHONE_PX), frames, folds)
    return Picture(
        result.photo.view,
        words.VIEW_TITLES[result.photo.view],
        result.photo.name,
        jpeg_data(result.photo.rgb, box, min(box.height, _PHOTO_HEIGHT_PX)),
        Markup(drawn),
        (box.width, box.height),
        tuple(_detail(result, letter, part, held, verdicts, units) for letter, part, held in details),
        _said([gap.item for gap in gaps if gap.item.key not in enlarged], verdicts, units),
        _facts(result, units),
        tuple(words.flags_of(words.flags_of_photo(result))),
    )


def _details_of(result: PhotoResult, gaps: Sequence[Gap], verdicts: Mapping[str, Verdict]) -> list[tuple[Box, list[Gap]]]:
    """What does not fit comes first; what is unclear, and likelier there than not, only fills up, so that the page stays short."""
    faults = [gap for gap in gaps if verdicts.get(gap.item.key) == "present"]
    doubts = [gap for gap in gaps if verdicts.get(gap.item.key) == "unclear" and abs(gap.item.value) > gap.item.sd]
    details = detail_boxes(result, faults, _MOST_DETAILS)
    return details if len(details) >= _ENOUGH_DETAILS else detail_boxes(result, [*faults, *doubts], _ENOUGH_DETAILS)


def _detail(result: PhotoResult, letter: str, box: Box, gaps: Sequence[Gap], verdicts: Mapping[str, Verdict], units: Units) -> Detail:
    drawn = Markup(drawing.overlay(result, gaps, verdicts, units, drawing.Pane(box, _DETAIL_PX)))
    return Detail(
        letter,
        jpeg_data(result.photo.rgb, box, _DETAIL_HEIGHT_PX),
        drawn,
        (box.width, box.height),
        _said([gap.item for gap in gaps], verdicts, units),
    )


def _said(items: Sequence[Measurement], verdicts: Mapping[str, Verdict], units: Units) -> tuple[Said, ...]:
    return tuple(
        Said(
            words.measurement_name(item),
            words.measurement_says(item, units),
            write.quantity_margin(item.sd, item.unit, units),
            verdicts.get(item.key, "plain"),
        )
        for item in items
    )


def _facts(result: PhotoResult, units: Units) -> str:
    """How the photo was taken, in one line, and how exact its scale is where it is not the card's."""
    facts = []
    if (scale := result.scale) is not None:
        if scale.markers:
            facts.append(f"scale card read ({scale.markers} squares)")
        if (floor := scale.floor) is not None:
            facts.append(f"floor sheets read ({floor.squares} squares), plumb taken from the floor")
            if floor.card_off_deg is not None:
                facts.append(f"the card hangs {write.angle(floor.card_off_deg)} off it")
        elif scale.above_floor is not None:
            facts.append(f"its middle {write.plus_minus(scale.above_floor.mm, scale.above_floor_sd_mm, units)} above the floor")
        facts.append(f"camera {scale.distance_mm / 1000:.1f} m away")
    if (standing := result.standing) is not None:
        facts.append(f"you stood turned by {write.angle(abs(standing.turn_deg))}")
    line = ", ".join(facts)
    sentences = [line[:1].upper() + line[1:] + "."] if line else []
    if scale is not None and not scale.markers and scale.floor is None:
        sentences.append(words.how_much_worse(scale))
    return " ".join(sentences)


def _widest(measurements: Sequence[Measurement], unit: str) -> float:
    """The reach of the small drawings of one unit, so that they can be compared by eye."""
    reach = [abs(m.value) + write.COVERAGE * m.sd for m in measurements if m.unit == unit]
    return float(np.max(reach, initial=1e-9))
