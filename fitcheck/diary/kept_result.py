"""What pages need of a kept `fitcheck.json`, each value checked: the text may come from an archive or from a damaged file."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from fitcheck.core.advice import Finding
from fitcheck.core.records import Floats, Measurement, SeamLine, Side, Sighting, measurement_key
from fitcheck.diary.contract import ID, LARGEST, SD, SIDES, UNIT, VIEWS, UnsoundError, code, maybe, number, one_of, text

_SAID = text(20_000)
_WORD = code(r"[A-Za-z0-9_]{0,200}")
_VIEW, _SIDE = one_of(*VIEWS), maybe(one_of(*SIDES))
_FINDING_SIDE = maybe(one_of("both", *SIDES))
_GRADE, _VERDICT = one_of("marker", "dot", "placed", "detected"), one_of("present", "absent", "unclear")
_NUMBER = number()
_MOST = 20_000  # of anything in one fitting
Ends = Mapping[str, Sequence[float | None]]


@dataclass(frozen=True, slots=True)
class KeptResult:
    """A kept result, as far as pages show it."""

    findings: tuple[Finding, ...]
    measurements: tuple[Measurement, ...]
    sightings: tuple[Sighting, ...]
    seams: tuple[SeamLine, ...]
    positions_mm: dict[tuple[str, Side | None], Floats]
    summary: str
    look_again: tuple[str, ...]


def read_result(data: str, ends: Ends) -> KeptResult:
    """Read a kept result.

    Parameters
    ----------
    data : str
        The `fitcheck.json` as recorded.
    ends : dict of measurement key to (from x, from y, to x, to y)
        Of the drawn gaps, in pixels; None where there is none.

    Raises
    ------
    UnsoundError
        It is not what a check of a fitting writes.
    """
    try:
        held = json.loads(data)
        points = _rows(held, "landmarks")
        return KeptResult(
            tuple(map(_finding, _rows(held, "findings"))),
            tuple(_measurement(m, ends) for m in _rows(held, "measurements")),
            tuple(map(_sighting, (p for p in points if p["view"] and p["xy_px"]))),
            tuple(map(_seam, _rows(held, "seams"))),
            {(ID(p["name"]), _SIDE(p["side"])): _floats(p["position_mm"], (3,)) for p in points if p["position_mm"]},
            _SAID(held["summary"]),
            tuple(_SAID(line) for line in held["look_again"]),
        )
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise UnsoundError("the result of a fitting is none that fitcheck writes") from error


def _rows(held: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    rows = held[key]
    if not isinstance(rows, list) or len(rows) > _MOST:
        raise ValueError(key)
    return rows


def _finding(f: Mapping[str, Any]) -> Finding:
    measurements, flags = (tuple(_WORD(word) for word in f[key]) for key in ("measurements", "flags"))
    return Finding(ID(f["id"]), _FINDING_SIDE(f["side"]), _SAID(f["says"]), _VERDICT(f["verdict"]), measurements, flags)


def _measurement(m: Mapping[str, Any], ends: Ends) -> Measurement:
    id, at, side = ID(m["id"]), _WORD(m["at"]), _SIDE(m["side"])
    xy = ends[measurement_key(id, at, side)]
    drawn = [None, None] if None in xy else [np.array(xy[:2], float), np.array(xy[2:], float)]
    sources = {_WORD(name): SD(sd) for name, sd in m["sources"].items()}
    told = (maybe(_VIEW)(m["view"]), _NUMBER(m["value"]), UNIT(m["unit"]), SD(m["sd"]), sources)
    return Measurement(id, at, side, *told, tuple(_WORD(flag) for flag in m["flags"]), *drawn)


def _sighting(p: Mapping[str, Any]) -> Sighting:
    return Sighting(ID(p["name"]), _SIDE(p["side"]), _VIEW(p["view"]), _GRADE(p["grade"]), _floats(p["xy_px"], (2,)), SD(p["sd_px"]))


def _seam(s: Mapping[str, Any]) -> SeamLine:
    return SeamLine(ID(s["name"]), _SIDE(s["side"]), _VIEW(s["view"]), _floats(s["points_px"], (-1, 2)), SD(s["sd_px"]))


def _floats(values: Any, shape: tuple[int, ...]) -> Floats:
    found = np.array(values, dtype=float).reshape(shape)
    if not (np.abs(found) <= LARGEST).all():
        raise ValueError("not finite")
    return found
