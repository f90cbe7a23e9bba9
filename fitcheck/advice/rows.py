"""The rows of the knowledge tables as frozen records: what each says, and what can be asked of it. A number without a source is refused."""

import math
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fitcheck.advice.only_for import said_of
from fitcheck.core.fitting import SHAPING, FittingFacts, Shaping
from fitcheck.core.records import SIDES, Measurement, Side, View, measurement_key

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Words = Annotated[str, Field(min_length=3)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1)]
Garment = Literal["top", "dress", "jacket", "coat", "skirt", "trousers"]
UPPER: tuple[Garment, ...] = ("top", "dress", "jacket", "coat")
LOWER: tuple[Garment, ...] = ("skirt", "trousers")
FRONTS: tuple[Shaping, ...] = ("dart", "princess", "none")


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
    unread: bool = False
    of_sleeve: bool = False
    wanted: dict[Literal["set_in", "none"], float] = {}
    ask: Words
    ask_half: str = ""
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

    def ask_for(self, fitting: FittingFacts) -> str:
        """How to have it measured next time; nobody is told to wear the half tissue that she wears."""
        return self.ask_half or self.ask if fitting.tissue == "half" else self.ask

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
        """The steps for this tissue, this garment and this front, in order."""
        tissue = {"half": self.steps_half, "full": self.steps_full}[fitting.tissue]
        return said_of((*tissue, *self.steps, *self._front(SHAPING[fitting.front])), fitting)

    def matching_for(self, fitting: FittingFacts) -> tuple[str, ...]:
        """What has to follow on this garment."""
        return said_of(self.matching, fitting)

    def look_again_for(self, fitting: FittingFacts) -> tuple[str, ...]:
        """What to look at again on this garment."""
        return said_of(self.look_again, fitting)

    def _front(self, front: Shaping) -> tuple[str, ...]:
        return {"dart": self.steps_dart, "princess": self.steps_princess, "none": self.steps_none}[front]

    def texts(self) -> tuple[str, ...]:
        """Every sentence with fields."""
        tissue = (*self.steps_half, *self.steps_full)
        return (*self.steps, *self.steps_dart, *self.steps_princess, *self.steps_none, *tissue, *self.matching, *self.look_again)

    def has_steps(self, front: Shaping) -> bool:
        """Whether there is anything to do on such a front."""
        return bool(self.steps or self._front(front))


class Amounts(Sourced):
    """Usual, smallest and largest sensible amounts and the prior (mm); below zero the largest may be another."""

    usual: tuple[Positive, Positive]
    smallest: Positive
    largest: Positive
    largest_minus: Positive | None = None
    probability: Annotated[float, Field(gt=0, lt=0.5)]
    spread: Positive

    def most(self, amount_mm: float) -> float:
        """The largest sensible amount of this sign."""
        return self.largest_minus if amount_mm < 0 and self.largest_minus else self.largest

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if not self.smallest <= self.usual[0] < self.usual[1] <= min(self.largest, self.most(-1.0)):
            raise ValueError("smallest, usual and largest amount are not in order")
        return self


class Effects(Sourced):
    """What the photos show when the pattern lacks 10 mm of the alteration, in numbers and in words; how far the numbers are in doubt."""

    per_10: dict[str, float]
    trade_per_10: dict[str, float] = {}
    sewn_per_10: dict[str, float] = {}
    sewn_spread_per_10: dict[str, Positive] = {}
    doubt_per_10: dict[str, Positive] = {}
    one_side_per_10: dict[str, float] = {}
    shows: dict[str, Words]

    @cached_property
    def does_per_10(self) -> dict[str, float]:
        """What making 10 mm takes away: what sewn drapes show, and the trade's number where no drape can tell."""
        return {**self.per_10, **self.sewn_per_10}


class Alteration(Row):
    """One alteration; see the head of alterations.toml."""

    id: Id
    name: Words
    group: Annotated[int, Field(ge=1, le=6)]
    sides: Literal["both", "one", "either"]
    garments: tuple[Garment, ...] = UPPER
    fronts: tuple[Shaping, ...] = FRONTS
    pieces: Annotated[tuple[Words, ...], Field(min_length=1)]
    line: Words
    full_at: Words
    nothing_at: Words
    amount_is: Words
    of_each_half: bool = False
    told_by: tuple[str, ...] = ()
    plus: Direction
    minus: Direction | None = None
    amounts: Amounts
    effects: Effects

    def applies(self, fitting: FittingFacts) -> bool:
        """Whether it can be made on this garment and this front; skirts and trousers have no front in that sense."""
        if self.pieces == ("sleeve",) and fitting.sleeve == "none":
            return False
        return fitting.kind in self.garments and (SHAPING[fitting.front] in self.fronts or fitting.kind in LOWER)

    def direction(self, amount_mm: float) -> Direction:
        """Words for an amount of this sign."""
        return self.minus if amount_mm < 0 and self.minus else self.plus

    @property
    def directions(self) -> tuple[Direction, ...]:
        """Plus, and minus where it makes sense."""
        return (self.plus, self.minus) if self.minus else (self.plus,)


class Follows(Sourced):
    """What follows on a neighbour, whatever was altered; said where the drawing shows it."""

    says: Words


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
    follows: tuple[str, ...] = ()

    @cached_property
    def places(self) -> dict[str, tuple[Observable, str]]:
        """Every observable at every level, by `<id>[_<at>]`, the key of the effects and the findings."""
        return {measurement_key(o.id, at, None): (o, at) for o in self.observables.values() for at in o.levels}

    def order(self, id: str) -> int:
        """Place of an alteration in the order of making."""
        return list(self.alterations).index(id)
