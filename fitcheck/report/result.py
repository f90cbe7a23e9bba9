"""The result as data: the dict behind `fitcheck.json`, in the published format `fitcheck.schema.json`."""

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from fitcheck import __version__
from fitcheck.core.advice import Amount, Explanation, Finding, RoundStep
from fitcheck.core.check import FitCheck, PhotoResult
from fitcheck.core.folds import Fold, FoldGroup
from fitcheck.core.records import Landmark, Measurement, Sighting
from fitcheck.report.picture.fold_lines import group_of_each
from fitcheck.report.picture.points import with_body_points
from fitcheck.report.words.sentences import flags_of_photo, without_largest
from fitcheck.report.words.units import fill

VERSION = 1


@cache
def schema() -> Mapping[str, Any]:
    """The JSON Schema (draft 2020-12) that every result of this version follows."""
    found: Mapping[str, Any] = json.loads((files("fitcheck.report") / "fitcheck.schema.json").read_text("utf-8"))
    return found


def to_json(check: FitCheck) -> dict[str, Any]:
    """One fitting as plain data.

    Parameters
    ----------
    check : FitCheck

    Returns
    -------
    dict
        Valid under `schema()`. Numbers are mm, degrees and pixels; the lengths inside sentences are in cm.

    Raises
    ------
    KnowledgeError
        A sentence has a field that cannot be filled.
    """
    return {
        "version": VERSION,
        "program": __version__,
        "flags": list(check.flags),
        "photos": [_photo(result) for result in check.photos],
        "landmarks": _landmarks(check),
        "seams": [
            {"name": seam.name, "side": seam.side, "view": seam.view, "points_px": _list(seam.points_px, 2), "sd_px": _number(seam.sd_px)}
            for result in check.photos
            for seam in result.seams
        ],
        "measurements": [_measurement(item) for item in check.measurements],
        "unmeasured": [{"id": item.id, "at": item.at, "side": item.side, "why": item.why} for item in check.unmeasured],
        "folds": [_fold(fold, group) for fold, group in zip(check.folds, group_of_each(check), strict=True)],
        "fold_groups": [_fold_group(group) for group in check.fold_groups],
        "findings": [_finding(finding) for finding in check.findings],
        "explanations": [_explanation(explanation) for explanation in check.explanations],
        "summary": fill(check.round.summary, "cm"),
        "round": [_step(step) for step in check.round.steps],
        "look_again": [fill(line, "cm") for line in check.round.look_again],
        "would_help": [fill(line, "cm") for line in check.round.would_help],
        "later": [_amount(amount) for amount in check.round.later],
        "last_round": [fill(line, "cm") for line in check.round.last_round],
        "tape": [
            {
                "id": one.id,
                "tape_mm": _number(one.tape_mm, 1),
                "tape_sd_mm": _number(one.tape_sd_mm, 1),
                "own_mm": _number(one.own_mm, 1),
                "own_sd_mm": _number(one.own_sd_mm, 1),
                "agrees": one.agrees,
            }
            for one in check.tape
        ],
        "posture": [
            {"id": one.id, "side": one.side, "value": _number(one.value), "unit": one.unit, "sd": _number(one.sd)} for one in check.posture
        ],
    }


def _number(value: float, digits: int = 4) -> float:
    return round(float(value), digits)


def _list(values: Any, digits: int) -> Any:
    return np.round(np.asarray(values, dtype=float), digits).tolist()


def _photo(result: PhotoResult) -> dict[str, Any]:
    scale, standing = result.scale, result.standing
    card: dict[str, Any] | None = None
    if scale is not None and scale.markers:
        card = {
            "markers": scale.markers,
            "distance_mm": _number(scale.distance_mm, 1),
            "reprojection_px": _number(scale.reprojection_px),
        }
        if scale.above_floor is not None and scale.floor is None:
            card |= {"above_floor_mm": _number(scale.above_floor.mm, 1), "above_floor_sd_mm": _number(scale.above_floor_sd_mm, 1)}
    floor: dict[str, Any] = {}
    if scale is not None and (seen := scale.floor) is not None:
        off = None if seen.card_off_deg is None else _number(seen.card_off_deg, 2)
        floor = {"floor": {"sheets": list(seen.sheets), "squares": seen.squares, "plumb_from": "floor", "card_off_deg": off}}
    return {
        "view": result.photo.view,
        "file": result.photo.name,
        "sha256": result.photo.sha256,
        "card": card,
        **floor,
        "turn_deg": None if standing is None else _number(standing.turn_deg),
        "turn_sd_deg": None if standing is None else _number(standing.turn_sd_deg),
        "flags": flags_of_photo(result),
    }


def _landmarks(check: FitCheck) -> list[dict[str, Any]]:
    """Every sighting with the body point it belongs to, then the points that no photo shows."""
    solved = {(landmark.name, landmark.side): landmark for landmark in check.landmarks}
    seen = [sighting for result in check.photos for sighting in with_body_points(result, check.landmarks).sightings]
    rows = [_landmark(sighting, solved.get((sighting.name, sighting.side))) for sighting in seen]
    keys = {(sighting.name, sighting.side) for sighting in seen}
    return rows + [_landmark(None, landmark) for key, landmark in solved.items() if key not in keys]


def _landmark(sighting: Sighting | None, landmark: Landmark | None) -> dict[str, Any]:
    named = sighting or landmark
    assert named is not None
    return {
        "name": named.name,
        "side": named.side,
        "view": sighting.view if sighting else None,
        "grade": sighting.grade if sighting else "detected",
        "xy_px": _list(sighting.xy_px, 2) if sighting else None,
        "sd_px": _number(sighting.sd_px) if sighting else None,
        "position_mm": _list(landmark.position_mm, 2) if landmark else None,
        # One number for three axes: the least sure one.
        "sd_mm": _number(float(np.max(landmark.sd_mm))) if landmark else None,
    }


def _measurement(item: Measurement) -> dict[str, Any]:
    without = without_largest(item.sources)
    return {
        "id": item.id,
        "at": item.at,
        "side": item.side,
        "view": item.view,
        "value": _number(item.value),
        "unit": item.unit,
        "sd": _number(item.sd),
        "sources": {name: _number(sd) for name, sd in item.sources.items()},
        "largest_source": without[0] if without else None,
        "would_be_sd": _number(without[1]) if without else None,
        "flags": list(item.flags),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id,
        "side": finding.side,
        "says": fill(finding.says, "cm"),
        "verdict": finding.verdict,
        "measurements": list(finding.measurements),
        "flags": list(finding.flags),
    }


def _fold(fold: Fold, group: str) -> dict[str, Any]:
    return {
        "view": fold.view,
        "kind": fold.kind,
        "points_px": _list(fold.points_px, 1),
        "length_mm": _number(fold.length_mm, 1),
        "direction_deg": _number(fold.direction_deg, 1),
        "width_mm": _number(fold.width_mm, 1),
        "height_mm": _number(fold.height_mm, 1),
        "strength": _number(fold.strength, 2),
        "tension": fold.tension,
        "take_up_mm": None if fold.take_up_mm is None else _number(fold.take_up_mm, 2),
        "take_up_sd_mm": None if fold.take_up_sd_mm is None else _number(fold.take_up_sd_mm, 2),
        "group": group,
    }


def _fold_group(group: FoldGroup) -> dict[str, Any]:
    return {
        "id": group.id,
        "at": group.at,
        "side": group.side,
        "view": group.view,
        "from": group.starts_at,
        "to": group.ends_at,
        "strength": _number(group.strength, 2),
        "take_up_mm": None if group.take_up_mm is None else _number(group.take_up_mm, 2),
        "take_up_sd_mm": None if group.take_up_sd_mm is None else _number(group.take_up_sd_mm, 2),
        "significant": group.significant,
        "says": fill(group.says, "cm"),
    }


def _amount(amount: Amount) -> dict[str, Any]:
    return {
        "id": amount.id,
        "side": amount.side,
        "amount_mm": _number(amount.amount_mm, 2),
        "sd_mm": _number(amount.sd_mm, 2),
        "probability": _number(amount.probability),
    }


def _explanation(explanation: Explanation) -> dict[str, Any]:
    return {
        "weight": _number(explanation.weight),
        "alterations": [_amount(amount) for amount in explanation.alterations],
        "unexplained": list(explanation.unexplained),
    }


def _step(step: RoundStep) -> dict[str, Any]:
    amount_mm = step.cut_mm or step.amount.amount_mm
    return _amount(step.amount) | {
        "steps": [fill(line, "cm", amount_mm) for line in step.steps],
        "matching": [fill(line, "cm", amount_mm) for line in step.matching],
        "expect": [{"measurement": one.measurement, "from": _number(one.before, 2), "to": _number(one.after, 2)} for one in step.expect],
    }
