"""The knowledge tables: loaded once, checked hard, handed on as the records of `rows.py`."""

import re
import tomllib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import TypeVar

from pydantic import ValidationError

from fitcheck.advice.only_for import WORDS, only_for
from fitcheck.advice.rows import Alteration, FindingRow, Follows, Knowledge, Observable, Row, Term
from fitcheck.core.errors import KnowledgeError

_FIELD = re.compile(r"\{(?!(?:amount|half_amount|mm:\d+(?:\.\d+)?|drawn:[+-]?[a-z_]+)\})[^}]*\}")
_UNIT = re.compile(r"\d\s*(?:mm|cm|in|inch|inches|\")(?![a-z])")


@cache
def knowledge() -> Knowledge:
    """The tables that come with fitcheck, loaded once."""
    return load_knowledge(files("fitcheck.advice") / "knowledge")


def load_knowledge(folder: Traversable) -> Knowledge:
    """Load and check observables.toml, alterations.toml, follows.toml, findings.toml and glossary.toml.

    Raises
    ------
    KnowledgeError
        A block lacks its source, has an unknown key or an impossible number; an id is used twice or refers to nothing; no observable
        reacts to an alteration; a sentence has an unknown field or a unit of its own. All faults are listed.
    """
    observables = _rows(folder, "observables", "observable", Observable)
    alterations = _rows(folder, "alterations", "alteration", Alteration)
    findings = _rows(folder, "findings", "finding", FindingRow)
    terms = _rows(folder, "glossary", "term", Term)
    follows = _rows(folder, "follows", "follow", Follows)
    faults = [
        *_twice("observables.toml", [row.id for row in observables]),
        *_twice("alterations.toml", [row.id for row in alterations]),
        *_twice("findings.toml", [row.id for row in findings]),
        *_twice("glossary.toml", [row.word for row in terms]),
    ]
    loaded = Knowledge(
        observables={row.id: row for row in observables},
        alterations={row.id: row for row in alterations},
        findings={row.id: row for row in findings},
        glossary=tuple(terms),
        follows=tuple(row.says for row in follows),
    )
    faults += [fault for row in alterations for fault in _alteration_faults(row, loaded)]
    faults += [f"follows.toml: {fault}" for text in loaded.follows for fault in _text_faults(text)]
    faults += [f"findings.toml: `{id}` is no measurement" for id in loaded.findings if id not in loaded.places]
    faults += [f"findings.toml: nothing is said about `{id}`" for id in loaded.places if id not in loaded.findings]
    if faults:
        raise _refused(faults)
    return loaded


R = TypeVar("R", bound=Row)


def _rows(folder: Traversable, file: str, table: str, kind: type[R]) -> list[R]:
    name = f"{file}.toml"
    try:
        read = tomllib.loads((folder / name).read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise _refused([f"{name} cannot be read: {error}"]) from error
    faults = [f"{name}: unknown table `{key}`" for key in read if key != table]
    blocks = read.get(table, [])
    if not isinstance(blocks, list) or not all(isinstance(block, dict) for block in blocks):
        raise _refused([f"{name}: every block begins with [[{table}]]"])
    rows: list[R] = []
    for number, block in enumerate(blocks, 1):
        try:
            rows.append(kind.model_validate(block))
        except ValidationError as error:
            label = block.get("id") or block.get("word") or f"block {number}"
            faults += [f"{name}, {label}: `{'.'.join(str(p) for p in e['loc'])}` {e['msg']}" for e in error.errors()]
    if faults:
        raise _refused(faults)
    return rows


def _twice(file: str, ids: list[str]) -> list[str]:
    return [f"{file}: `{id}` stands there twice" for id in dict.fromkeys(ids) if ids.count(id) > 1]


def _alteration_faults(row: Alteration, loaded: Knowledge) -> list[str]:
    faults = []
    places, effects = loaded.places, row.effects
    shown = {*effects.per_10, *effects.one_side_per_10}
    faults += [f"reacts on `{key}`, which is no measurement" for key in sorted(shown) if key not in places]
    beside = {*effects.trade_per_10, *effects.sewn_per_10, *effects.sewn_spread_per_10}
    faults += [f"was compared on `{key}`, which is no measurement" for key in sorted(beside) if key not in places]
    faults += [f"doubts its effect on `{key}`, which it does not have" for key in effects.doubt_per_10 if key not in effects.per_10]
    faults += [f"`shows` lacks or misnames `{key}`" for key in sorted(shown ^ {*effects.shows})]
    faults += [f"is told by `{key}`, which does not show it" for key in row.told_by if key not in shown]
    if not any((*effects.per_10.values(), *effects.one_side_per_10.values())):
        faults.append("has no effect on any measurement")
    if effects.one_side_per_10 and row.sides == "both":
        faults.append("has one-sided effects but is never one-sided")
    faults += [
        f"one-sided effect on `{key}`, which has sides of its own"
        for key in effects.one_side_per_10
        if key in places and places[key][0].sides(places[key][1]) != (None,)
    ]
    for direction in row.directions:
        faults += [f"no steps for a front with {front}" for front in row.fronts if not direction.has_steps(front)]
        faults += [fault for text in direction.texts() for fault in _text_faults(text)]
    return [f"alterations.toml, {row.id}: {fault}" for fault in faults]


def _text_faults(text: str) -> list[str]:
    return [
        *(f"unknown field {field} in {text!r}" for field in _FIELD.findall(text)),
        *(f"write {{mm:...}} instead of a unit in {text!r}" for _ in _UNIT.findall(text)),
        *(f"nothing is called `{word}` in {text!r}" for word in only_for(text) if word not in WORDS),
    ]


def _refused(faults: list[str]) -> KnowledgeError:
    return KnowledgeError(
        f"The knowledge tables do not hold together: {'; '.join(faults)}.", "Correct them; their heads explain every key."
    )
