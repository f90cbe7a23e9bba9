"""The knowledge tables: loaded once, checked hard, handed on as frozen records. A number without a source does not load."""

import math
import re
import tomllib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Annotated, Literal, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import SIDES, Measurement, Side, View, measurement_key

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Words = Annotated[str, Field(min_length=3)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1)]
Front = Literal["dart", "princess", "none"]
Garment = Literal["top", "dress", "jacket", "coat", "skirt", "trousers"]
UPPER: tuple[Garment, ...] = ("top", "dress", "jacket", "coat")
LOWER: tuple[Garment, ...] = ("skirt", "trousers")
FRONTS: tuple[Front, ...] = ("dart", "princess", "none")

_FIELD = re.compile(r"\{(?!(?:amount|half_amount|mm:\d+(?:\.\d+)?)\})[^}]*\}")
_UNIT = re.compile(r"\d\s*(?:mm|cm|in|inch|inches|\")(?![a-z])")


class Row(BaseModel):
    """A block of a table: unknown keys are refused, nothing can be changed afterwards."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Sourced(Row):
    """A block with numbers or facts in it, which therefore says where they come from."""

    source: Words
    reviewed: bool = False


class Tolerance(Sourced):
    """How far off still counts as fitting, and how far the number itself may mislead (mm or degrees, as the observable)."""

    amount: Positive
    doubt: Annotated[float, Field(ge=0, allow_inf_nan=False)] = 0.0


class Straying(Sourced):
    """Model discrepancy: how far cloth strays from the linear table, `shared` being the common part of its variance."""

    sd: Positive
    level_sd: dict[str, Positive] = {}
    shared: Share
    family: str = ""


class Observable(Row):
    """One thing that is measured; see the head of observables.toml."""

    id: Id
    name: Words
    plus: Words
    unit: Literal["mm", "deg"]
    views: tuple[View, ...]
    levels: tuple[str, ...] = ("",)
    sided: bool
    midline_levels: tuple[str, ...] = ()
    whole: bool = False
    of_body: bool = False
    one_point: bool = False
    at_neck: tuple[str, ...] = ()
    garments: tuple[Garment, ...] = UPPER
    lower_levels: tuple[str, ...] = ()
    by_hand: bool = False
    of_sleeve: bool = False
    wanted: dict[Literal["set_in", "none"], float] = {}
    ask: Words
    tolerance: Tolerance
    model: Straying

    def sides(self, at: str) -> tuple[Side | None, ...]:
        """The sides it is taken on at one level."""
        return SIDES if self.sided and at not in self.midline_levels else (None,)

    def applies(self, at: str, fitting: FittingFacts) -> bool:
        """Whether it says anything: a style neckline cannot be compared with the neck, a skirt not with the shoulder."""
        worn = fitting.kind in self.garments or (fitting.kind in LOWER and at in self.lower_levels)
        if self.of_sleeve and fitting.sleeve == "none":
            return False
        return worn and (fitting.neckline == "at_neck" or at not in self.at_neck)

    def deviation(self, measured: Measurement, fitting: FittingFacts) -> float:
        """How far the measurement is from what fits, signed, in its unit."""
        return measured.value - self.wanted.get(fitting.sleeve, 0.0)

    def straying(self, at: str) -> float:
        """Model discrepancy at one level, its own doubt included (standard deviation)."""
        return math.hypot(self.model.level_sd.get(at, self.model.sd), self.tolerance.doubt)

    @model_validator(mode="after")
    def _levels_known(self) -> Self:
        if unknown := {*self.midline_levels, *self.at_neck, *self.lower_levels, *self.model.level_sd} - {*self.levels}:
            raise ValueError(f"{', '.join(sorted(unknown))}: no such level")
        return self

    @property
    def family(self) -> str:
        """Observables of one family stray together."""
        return self.model.family or self.id


class Direction(Row):
    """What to do for amounts of one sign."""

    name: Words
    steps: tuple[Words, ...]
    steps_dart: tuple[Words, ...] = ()
    steps_princess: tuple[Words, ...] = ()
    steps_none: tuple[Words, ...] = ()
    steps_half: tuple[Words, ...] = ()
    steps_full: tuple[Words, ...] = ()
    matching: tuple[Words, ...]
    look_again: tuple[Words, ...]

    def steps_for(self, fitting: FittingFacts) -> tuple[str, ...]:
        """The steps for this tissue and this front, in order."""
        tissue = {"half": self.steps_half, "full": self.steps_full}[fitting.tissue]
        return (*tissue, *self.steps, *self._front(fitting.front))

    def _front(self, front: Front) -> tuple[str, ...]:
        return {"dart": self.steps_dart, "princess": self.steps_princess, "none": self.steps_none}[front]

    def texts(self) -> tuple[str, ...]:
        """Every sentence with fields."""
        tissue = (*self.steps_half, *self.steps_full)
        return (*self.steps, *self.steps_dart, *self.steps_princess, *self.steps_none, *tissue, *self.matching, *self.look_again)

    def has_steps(self, front: Front) -> bool:
        """Whether there is anything to do on such a front."""
        return bool(self.steps or self._front(front))


class Amounts(Sourced):
    """Usual, smallest and largest sensible amounts and the prior (mm)."""

    usual: tuple[Positive, Positive]
    smallest: Positive
    largest: Positive
    probability: Annotated[float, Field(gt=0, lt=0.5)]
    spread: Positive

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if not self.smallest <= self.usual[0] < self.usual[1] <= self.largest:
            raise ValueError("smallest, usual and largest amount are not in order")
        return self


class Effects(Sourced):
    """What the photos show when the pattern lacks 10 mm of the alteration."""

    per_10: dict[str, float]
    one_side_per_10: dict[str, float] = {}


class Alteration(Row):
    """One alteration; see the head of alterations.toml."""

    id: Id
    name: Words
    group: Annotated[int, Field(ge=1, le=6)]
    sides: Literal["both", "one", "either"]
    garments: tuple[Garment, ...] = UPPER
    fronts: tuple[Front, ...] = FRONTS
    pieces: Annotated[tuple[Words, ...], Field(min_length=1)]
    line: Words
    full_at: Words
    nothing_at: Words
    amount_is: Words
    plus: Direction
    minus: Direction | None = None
    amounts: Amounts
    effects: Effects

    def applies(self, fitting: FittingFacts) -> bool:
        """Whether it can be made on this garment and this front; skirts and trousers have no front in that sense."""
        if self.pieces == ("sleeve",) and fitting.sleeve == "none":
            return False
        return fitting.kind in self.garments and (fitting.front in self.fronts or fitting.kind in LOWER)

    def direction(self, amount_mm: float) -> Direction:
        """Words for an amount of this sign."""
        return self.minus if amount_mm < 0 and self.minus else self.plus

    @property
    def directions(self) -> tuple[Direction, ...]:
        """Plus, and minus where it makes sense."""
        return (self.plus, self.minus) if self.minus else (self.plus,)


class FindingRow(Sourced):
    """The sentences for one observable at one level."""

    id: Id
    plus: Words
    minus: Words
    fits: Words


class Term(Sourced):
    """One word of the trade."""

    word: Words
    also: str = ""
    means: Words


class Knowledge(Row):
    """All tables together, consistent with each other."""

    observables: dict[str, Observable]
    alterations: dict[str, Alteration]
    findings: dict[str, FindingRow]
    glossary: tuple[Term, ...]

    @property
    def places(self) -> dict[str, tuple[Observable, str]]:
        """Every observable at every level, by `<id>[_<at>]`, the key of the effects and the findings."""
        return {measurement_key(o.id, at, None): (o, at) for o in self.observables.values() for at in o.levels}

    def order(self, id: str) -> int:
        """Place of an alteration in the order of making."""
        return list(self.alterations).index(id)


@cache
def knowledge() -> Knowledge:
    """The tables that come with fitcheck, loaded once."""
    return load_knowledge(files("fitcheck.advice") / "knowledge")


def load_knowledge(folder: Traversable) -> Knowledge:
    """Load and check observables.toml, alterations.toml, findings.toml and glossary.toml.

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
    )
    faults += [fault for row in alterations for fault in _alteration_faults(row, loaded)]
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
    faults += [f"reacts on `{key}`, which is no measurement" for key in (*effects.per_10, *effects.one_side_per_10) if key not in places]
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
        for text in direction.texts():
            faults += [f"unknown field {field} in {text!r}" for field in _FIELD.findall(text)]
            faults += [f"write {{mm:...}} instead of a unit in {text!r}" for _ in _UNIT.findall(text)]
    return [f"alterations.toml, {row.id}: {fault}" for fault in faults]


def _refused(faults: list[str]) -> KnowledgeError:
    return KnowledgeError(
        f"The knowledge tables do not hold together: {'; '.join(faults)}.", "Correct them; their heads explain every key."
    )
