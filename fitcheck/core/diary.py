"""The frozen records handed from the diary to the pages that show it: fittings as recorded, rounds compared, what was learnt, posture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:  # the records bring numpy along, which a list of fittings does not need
    from fitcheck.core.advice import Amount, Expectation, Finding
    from fitcheck.core.check import PostureValue
    from fitcheck.core.records import Floats, Measurement, SeamLine, Side, Sighting, View

Status = Literal["solved", "improved", "unchanged", "worse", "in order"]
Claim = Literal["trend", "latest", ""]
Names = Mapping[tuple[str, bool], str]  # plain name of each alteration for amounts above (True) and below zero


def name_of(amount: Amount | Usual, names: Names) -> str:
    """What an alteration of this sign is called; one the tables no longer know goes by its id."""
    return names.get((amount.id, amount.amount_mm > 0), amount.id.replace("_", " "))


@dataclass(frozen=True, slots=True)
class DiaryPhoto:
    """A photo of a recorded fitting.

    Attributes
    ----------
    file : str
        Where it lies now: the diary's own copy, or the file it was recorded from; "" where that lay on another machine.
    kept : str
        copy | reference.
    size_px : tuple of int
        Width and height of the upright picture that the recorded points refer to.
    """

    view: View
    file: str
    kept: str
    sha256: str
    size_px: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Entry:
    """One fitting in the diary's list.

    Attributes
    ----------
    number : int
        Its name in commands.
    retake : bool
        A repeat of the same day, to learn how well photos repeat.
    """

    number: int
    wearer: str
    garment: str
    maker: str
    day: date
    stage: str
    retake: bool
    photos: int
    summary: str
    notes: int = 0


@dataclass(frozen=True, slots=True)
class Advised:
    """One alteration of a recorded round and what it should change."""

    amount: Amount
    expect: tuple[Expectation, ...] = ()


@dataclass(frozen=True, slots=True)
class Fitting:
    """One recorded fitting, read back.

    Attributes
    ----------
    round, later : tuple of Advised, of Amount
        What was to be altered then, and what was left for later.
    positions_mm : dict of (name, side) to ndarray, shape (3,)
        Solved body points in the body frame.
    summary, look_again : str, tuple of str
        Lengths as `{mm:<number>}` fields, to be told in the units of who reads them; words in cm where an earlier fitcheck recorded them.
    """

    entry: Entry
    photos: tuple[DiaryPhoto, ...]
    measurements: tuple[Measurement, ...]
    findings: tuple[Finding, ...]
    round: tuple[Advised, ...]
    later: tuple[Amount, ...]
    posture: tuple[PostureValue, ...]
    sightings: tuple[Sighting, ...]
    seams: tuple[SeamLine, ...]
    positions_mm: dict[tuple[str, Side | None], Floats]
    summary: str
    look_again: tuple[str, ...]
    sleeve: str = "set_in"


@dataclass(frozen=True, slots=True)
class Target:
    """What a measurement should read.

    Attributes
    ----------
    tolerance : float
        How far off still counts as fitting.
    straying_sd : float
        How far cloth strays from what an alteration should do (standard deviation).
    of_body : bool
        A measure of the body alone, which no alteration changes.
    """

    wanted: float
    tolerance: float
    straying_sd: float
    of_body: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """One measurement in two rounds.

    Attributes
    ----------
    predicted : float or None
        What the earlier round said it would read.
    sd : float
        Standard uncertainty of the difference.
    changed : bool
        Beyond its uncertainty (95 %).
    as_predicted : bool or None
        None without a prediction.
    status : str or None
        None for a measure of the body.
    """

    before: Measurement
    after: Measurement
    predicted: float | None
    sd: float
    changed: bool
    as_predicted: bool | None
    status: Status | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """How much of what an alteration should have changed did change.

    Attributes
    ----------
    share, share_sd : float or None
        1 = all of it; None where nothing it should change was measured twice.
    says : str
        In words; lengths as `{mm:<number>}` fields.
    """

    amount: Amount
    share: float | None
    share_sd: float | None
    says: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two rounds of one garment.

    Attributes
    ----------
    verdict : str
        Plain sentences; lengths as `{mm:<number>}` fields.
    cautions : tuple of str
        Why the two may not be comparable.
    only_before, only_after : tuple of Measurement
        Measured in one of the two only.
    """

    before: Fitting
    after: Fitting
    changes: tuple[Change, ...]
    outcomes: tuple[Outcome, ...]
    verdict: str
    cautions: tuple[str, ...]
    only_before: tuple[Measurement, ...]
    only_after: tuple[Measurement, ...]


@dataclass(frozen=True, slots=True)
class Usual:
    """An alteration as her fittings show it.

    Attributes
    ----------
    needed, garments : int
        In how many of how many garments.
    amount_mm, spread_mm : float
        Mean where needed, and how much one garment differs from another beyond the uncertainty of each (standard deviation).
    low_mm, high_mm : float
        Where the next garment's amount will lie 19 times in 20.
    amounts : tuple of (garment, mm, sd)
    """

    id: str
    side: str
    needed: int
    garments: int
    amount_mm: float
    sd_mm: float
    spread_mm: float
    low_mm: float
    high_mm: float
    amounts: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True)
class Profile:
    """What all fittings of one wearer taught."""

    wearer: str
    maker: str
    fittings: int
    garments: tuple[str, ...]
    usual: tuple[Usual, ...]
    body: tuple[PostureValue, ...]
    tapes: tuple[tuple[str, float, date], ...]
    notes: tuple[tuple[date, str], ...]


@dataclass(frozen=True, slots=True)
class Day:
    """One posture number of one day: the mean of that day's fittings."""

    day: date
    value: float
    repeats: int


@dataclass(frozen=True, slots=True)
class Trend:
    """One posture number over time.

    Attributes
    ----------
    sem : float
        Standard error of measurement of one fitting.
    retakes : int
        Degrees of freedom of her own repeats behind it; 0 = the default alone.
    mdc95 : float
        Smallest detectable change between two fittings.
    slope_per_year, slope_low, slope_high : float
        Theil-Sen line and its 95 % interval; NaN with fewer than two days.
    change : float
        The change that is judged: along the line, or of the latest day against the days before.
    claim : str
        trend | latest | "" when no change is claimed.
    """

    id: str
    side: Side | None
    unit: str
    days: tuple[Day, ...]
    sem: float
    retakes: int
    mdc95: float
    slope_per_year: float
    slope_low: float
    slope_high: float
    change: float
    change_sd: float
    claim: Claim


@dataclass(frozen=True, slots=True)
class NoLongerHolds:
    """An earlier alteration that a change of posture has made too small or too large; `says` with `{mm:...}` fields."""

    alteration: str
    fitting: Entry
    amount_mm: float
    off_by_mm: float
    says: str


@dataclass(frozen=True, slots=True)
class PostureDiary:
    """Posture of one wearer over time. It is tracked, never diagnosed."""

    wearer: str
    trends: tuple[Trend, ...]
    verdict: str
    outdated: tuple[NoLongerHolds, ...]
    cautions: tuple[str, ...]
