"""What of a checked fitting the correcting page shows and moves: points, seam lines and numbers, as plain data in her units."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, get_args

import numpy as np

from fitcheck.body.placed import PlacedFile
from fitcheck.body.point_table import body_points
from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.fitting import SeamName
from fitcheck.core.records import SIDES, Floats, Measurement, SeamLine, Sighting
from fitcheck.report.page.fitting_page import verdicts_of
from fitcheck.report.picture.crops import main_box
from fitcheck.report.picture.gaps import gaps_in
from fitcheck.report.picture.points import with_body_points
from fitcheck.report.words import sentences as words
from fitcheck.report.words import units as write
from fitcheck.report.words.units import Units

MIDLINE_SEAMS = ("centre_front", "centre_back", "waist", "front_edge", "neckline", "hem")
SOME = 25.4  # mm or degrees: any amount that is none of the other words in a sentence
MOST_POINTS = 80  # of a line as it is drawn and dragged; lines are smooth


def marks(check: FitCheck, placed: PlacedFile, units: Units) -> dict[str, Any]:
    """Everything that the correcting page needs of a result and of what is put right in it."""
    return {
        "photos": [_photo(with_body_points(result, check.landmarks), check.measurements) for result in check.photos],
        "placed": placed.model_dump(mode="json"),
        "numbers": numbers(check, units),
        "summary": write.fill(check.round.summary, units),
        "present": [write.fill(f.says, units) for f in check.findings if f.verdict == "present"],
        "asks": _questions(check),
        "unit": "cm" if units == "cm" else "in",
    }


def names() -> dict[str, Any]:
    """What points and seams can be called, for what is drawn anew."""
    seams: list[tuple[str, str]] = []
    for name in get_args(SeamName):
        seams += [(name, "")] if name in MIDLINE_SEAMS else [(name, side) for side in SIDES]
    return {"seams": [{"name": n, "side": s, "says": _named(n, s)} for n, s in seams]}


def numbers(check: FitCheck, units: Units) -> list[dict[str, Any]]:
    """Every measurement in words, with the number itself for what follows a finger."""
    verdicts = verdicts_of(check.findings)
    return [
        {
            "key": item.key,
            "name": words.measurement_name(item),
            "view": item.view,
            "value": round(item.value, 3),
            "sd": round(item.sd, 3),
            "unit": item.unit,
            "says": words.measurement_says(item, units),
            **_forms(item, units),
            "margin": write.quantity_margin(item.sd, item.unit, units),
            "verdict": verdicts.get(item.key, "plain"),
        }
        for item in check.measurements
    ]


def _forms(item: Measurement, units: Units) -> dict[str, str]:
    """The sentence above, below and at nought, with `{}` for the amount, so that the browser can say numbers that follow a finger."""
    size = write.quantity(SOME, item.unit, units)
    above, below, nought = (words.measurement_says(replace(item, value=value), units) for value in (SOME, -SOME, 0.0))
    return {"plus": above.replace(size, "{}", 1), "minus": below.replace(f"−{size}", "−{}", 1).replace(size, "{}", 1), "nought": nought}


def _photo(result: PhotoResult, measurements: Sequence[Measurement]) -> dict[str, Any]:
    height, width = result.photo.rgb.shape[:2]
    box = main_box(result, gaps_in(result, measurements))
    return {
        "view": result.photo.view,
        "title": words.VIEW_TITLES[result.photo.view],
        "size": [width, height],
        "box": [box.left, box.top, box.right, box.bottom],
        "points": [_point(one) for one in result.sightings if (one.name, one.side) in body_points() and _inside(one, width, height)],
        "seams": [_seam(one, i) for i, one in enumerate(result.seams)],
    }


def _inside(one: Sighting, width: int, height: int) -> bool:
    x, y = one.xy_px
    return bool(0 <= x <= width - 1 and 0 <= y <= height - 1)


def _point(one: Sighting) -> dict[str, Any]:
    return {
        "name": one.name,
        "side": one.side or "",
        "says": _named(one.name, one.side or ""),
        "xy": [round(float(v), 2) for v in one.xy_px],
        "grade": one.grade,
    }


def _seam(one: SeamLine, index: int) -> dict[str, Any]:
    return {
        "id": f"{one.name}:{one.side or ''}:{index}",
        "name": one.name,
        "side": one.side or "",
        "says": _named(one.name, one.side or ""),
        "points": thinned(one.points_px).round(2).tolist(),
        "placed": one.colour == "placed",
    }


def thinned(points_px: Floats) -> Floats:
    """Points of a line, shape (N, 2), no more than MOST_POINTS of them, both ends among them."""
    if len(points_px) <= MOST_POINTS:
        return points_px
    chosen = np.unique(np.linspace(0, len(points_px) - 1, MOST_POINTS).round().astype(int))
    return np.asarray(points_px[chosen])


def _named(name: str, side: str) -> str:
    found = next((one for one in SIDES if one == side), None)
    said = ", ".join(word for word in (words.plain(name), words.side_words(found)) if word)
    return said[:1].upper() + said[1:]


def _questions(check: FitCheck) -> list[str]:
    """What is asked about points put far off."""
    return [line.split(": did you mean")[0] for line in check.round.look_again if "hardly counts" in line]
