"""Which size to cut, before anything is pinned: from the tape and the maker's own body table.

The size is bought by the high bust, since neck, shoulders and armhole are hard to alter and the bust is easy (common practice); waist and
hip are blended to the sizes that they need. What is left over becomes first-estimate alterations.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from fitcheck.advice.ease import GIRTHS, EaseTables, Girth
from fitcheck.advice.rows import LOWER, Knowledge
from fitcheck.core.advice import Amount
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts, TapeFacts, in_mm
from fitcheck.core.toml_file import read_toml

SMALLER_FROM_MM = 51.0  # full over high bust from which the smaller of two sizes is taken: 2 in, Texas Extension E-372 (seen as an excerpt)
TAPE_SD_MM: dict[str, float] = {"girth": 9.0, "length": 5.0}  # ISO 20685-1 (read in a textbook's table)
Length = Annotated[float | None, Field(gt=0, le=3000, allow_inf_nan=False)]


class ChartSize(BaseModel):
    """One size of a maker's table: the body it is meant for, and the finished garment where the maker states it (mm)."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Annotated[str, Field(min_length=1, max_length=30)]
    bust: Length = None
    high_bust: Length = None
    waist: Length = None
    hip: Length = None
    back_waist_length: Length = None
    finished_bust: Length = None
    finished_waist: Length = None
    finished_hip: Length = None

    def girth(self, at: Girth) -> float | None:
        """Of the body."""
        return {"bust": self.bust, "waist": self.waist, "hip": self.hip}[at]

    def finished(self, at: Girth) -> float | None:
        """Of the garment."""
        return {"bust": self.finished_bust, "waist": self.finished_waist, "hip": self.finished_hip}[at]


class Chart(BaseModel):
    """A maker's body table, in millimetres once read.

    Attributes
    ----------
    cup_difference : float
        Full bust minus high bust it is drafted for; 50 is usual (common practice).
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    maker: Annotated[str, Field(max_length=100)] = ""
    unit: Literal["mm", "cm", "in"] = "cm"
    cup_difference: Annotated[float, Field(ge=0, le=300, allow_inf_nan=False)] = 50.0
    size: Annotated[tuple[ChartSize, ...], Field(min_length=1)]

    @model_validator(mode="before")
    @classmethod
    def _to_mm(cls, data: Any) -> Any:
        if not isinstance(data, dict) or not isinstance(data.get("size"), list):
            return data
        data = {"unit": "cm", **data}
        return in_mm(data, data["unit"]) | {"size": [in_mm(row, data["unit"]) if isinstance(row, dict) else row for row in data["size"]]}

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        for name in ("bust", "high_bust", "waist", "hip"):
            column = [getattr(size, name) for size in self.size if getattr(size, name) is not None]
            if column != sorted(column) or len(set(column)) != len(column):
                raise ValueError(f"the sizes are not in order of their {name.replace('_', ' ')}")
        return self

    def high_bust(self, size: ChartSize) -> float | None:
        """As the table says, else the bust less what the pattern is drafted for."""
        return size.high_bust or (size.bust - self.cup_difference if size.bust is not None else None)


@dataclass(frozen=True, slots=True)
class EaseThere:
    """Ease at one girth once the estimated alterations are made, against what is usual (mm); `there` is None where the maker is silent."""

    at: Girth
    there: float | None
    least: float
    most: float


@dataclass(frozen=True, slots=True)
class SizeAdvice:
    """What to cut.

    Attributes
    ----------
    size : str
        For neck, shoulders and armhole (waist and hip of skirts and trousers: the hip's size).
    at : dict of girth to str
        The size to blend to at each girth.
    estimates : tuple of Amount
        First-estimate alterations beyond what blending does.
    says : tuple of str
        All of it in plain sentences with `{mm:...}` fields.
    """

    size: str
    at: dict[Girth, str]
    estimates: tuple[Amount, ...]
    ease: tuple[EaseThere, ...]
    says: tuple[str, ...]


def read_chart(path: Path) -> Chart:
    """Read a maker's table typed in as TOML.

    Raises
    ------
    UsageError
        It cannot be read, is not TOML, or keys or numbers are impossible; all faults are told.
    """
    return read_toml(path, Chart, "See sample_images/sizes.toml for how a table is typed in.")


def choose_size(tape: TapeFacts, chart: Chart, table: Knowledge, ease: EaseTables, fitting: FittingFacts) -> SizeAdvice:
    """The size to cut, sizes to blend to, first-estimate alterations and the ease there will be.

    Raises
    ------
    UsageError
        The tape or the chart lacks what the size is chosen by.
    """
    lower = fitting.kind in LOWER
    base = _base(tape, chart, lower)
    body = {"bust": tape.bust, "waist": tape.waist, "hip": tape.hip}
    girths = [at for at in GIRTHS if body[at] is not None and base.girth(at) is not None and not (lower and at == "bust")]
    at = {girth: (base,) if girth == "bust" else _between(chart.size, girth, body[girth] or 0.0) for girth in girths}
    estimates = _estimates(tape, chart, base, at, table, lower)
    there = tuple(
        _ease_there(girth, at[girth], body[girth] or 0.0, estimates, ease, fitting) for girth in girths if girth in ease.wanted(fitting)
    )
    says = [f"Cut size {base.name}{'' if lower else ', chosen by the high bust'}."]
    if fitting.size_bought:
        says.append(_bought(fitting.size_bought, base, chart))
    for girth, sizes in at.items():
        if sizes != (base,):
            to = f"size {sizes[0].name}" if len(sizes) == 1 else f"half way between sizes {sizes[0].name} and {sizes[1].name}"
            says.append(f"At the {girth} blend to {to}: draw one smooth line from one size's seam to the other's.")
    for a in estimates:
        row = table.alterations[a.id]
        says.append(
            f"First estimate: {row.direction(a.amount_mm).name}, {{mm:{abs(a.amount_mm):.0f}}} ({row.amount_is}). "
            "Pin and photograph before cutting."
        )
    for one in there:
        says.append(_ease_says(one))
    if not (tape.bust or lower):
        says.append("The full bust was not given, so nothing is said about the bust.")
    return SizeAdvice(
        base.name,
        {girth: "-".join(size.name for size in sizes) for girth, sizes in at.items()},
        estimates,
        there,
        (*says, *ease.says(fitting)),
    )


def _bought(name: str, base: ChartSize, chart: Chart) -> str:
    """How the size that was bought compares with the one to cut."""
    names = [size.name for size in chart.size]
    if name not in names:
        return f"Size {name}, which was bought, is not in the chart: check that it is the maker's own table."
    steps = names.index(name) - names.index(base.name)
    if not steps:
        return "That is the size which was bought."
    rest = "otherwise alter from the size there is, and more." if steps < 0 else "otherwise the whole garment has to be taken in."
    way = f"{abs(steps)} size{'s' if abs(steps) > 1 else ''} too {'large' if steps > 0 else 'small'}"
    return f"Size {name}, which was bought, is {way}: cut size {base.name} if the pattern has it printed too; {rest}"


def _base(tape: TapeFacts, chart: Chart, lower: bool) -> ChartSize:
    if lower:
        if tape.hip is None or all(size.hip is None for size in chart.size):
            raise UsageError("A skirt or trousers are bought by the hip, which is missing.", "Give it in the [tape] table or with --hip.")
        return _nearest(chart.size, "hip", tape.hip)
    if tape.high_bust is None:
        raise UsageError(
            "The size is chosen by the high bust, which is missing.", "Take the tape high under the arms and give --high-bust."
        )
    sized = [(high, size) for size in chart.size if (high := chart.high_bust(size)) is not None]
    if not sized:
        raise UsageError("The chart gives neither bust nor high bust.", "Type the maker's bust column in.")
    wanted = tape.high_bust
    nearest = min(sized, key=lambda one: abs(one[0] - wanted))
    full = tape.bust is not None and tape.bust - tape.high_bust >= SMALLER_FROM_MM
    smaller = [one for one in sized if one[0] <= wanted]
    between = bool(smaller) and len(smaller) < len(sized)
    return smaller[-1][1] if full and between else nearest[1]


def _nearest(sizes: Sequence[ChartSize], girth: Girth, wanted: float) -> ChartSize:
    """The size of this girth; of two equally near the larger, which can be taken in."""
    known = [(value, size) for size in sizes if (value := size.girth(girth)) is not None]
    return min(known, key=lambda one: (abs(one[0] - wanted), -one[0]))[1]


def _between(sizes: Sequence[ChartSize], girth: Girth, wanted: float) -> tuple[ChartSize, ...]:
    """The size of this girth, or the two between which it lies if it is nearer to their middle."""
    below = [size for size in sizes if (value := size.girth(girth)) is not None and value <= wanted]
    above = [size for size in sizes if (value := size.girth(girth)) is not None and value > wanted]
    if below and above:
        low, high = _mean([below[-1].girth(girth)]), _mean([above[0].girth(girth)])
        if 0.25 < (wanted - low) / (high - low) < 0.75:
            return below[-1], above[0]
    return (_nearest(sizes, girth, wanted),)


def _mean(values: Sequence[float | None]) -> float:
    known = [value for value in values if value is not None]
    return sum(known) / len(known)


def _estimates(
    tape: TapeFacts, chart: Chart, base: ChartSize, at: dict[Girth, tuple[ChartSize, ...]], table: Knowledge, lower: bool
) -> tuple[Amount, ...]:
    raw: list[tuple[str, float, float]] = []
    girth_sd, length_sd = TAPE_SD_MM["girth"], TAPE_SD_MM["length"]
    if not lower and tape.bust is not None and tape.high_bust is not None:
        # The rule of thumb of the trade, for each half.
        raw.append(("full_small_bust", (tape.bust - tape.high_bust - chart.cup_difference) / 2, girth_sd * 2**0.5 / 2))
    if not lower and tape.back_waist_length is not None and base.back_waist_length is not None:
        # A tape down the back alone tells of the whole length; what front and back differ by the photos tell.
        raw.append(("whole_bodice_length", tape.back_waist_length - base.back_waist_length, length_sd))
    below: tuple[tuple[Girth, str, float | None], ...] = (("waist", "waist_width", tape.waist), ("hip", "hip_width", tape.hip))
    for girth, id, body in below:
        known = [value for size in chart.size if (value := size.girth(girth)) is not None]
        if girth in at and body is not None and not known[0] <= body <= known[-1]:  # within the table, blending does it
            raw.append((id, (body - _mean([size.girth(girth) for size in at[girth]])) / 2, girth_sd / 2))
    worth = [Amount(id, "both", mm, sd) for id, mm, sd in raw if abs(mm) >= table.alterations[id].amounts.smallest]
    return tuple(sorted(worth, key=lambda a: table.order(a.id)))


def _ease_there(
    girth: Girth, sizes: Sequence[ChartSize], body: float, estimates: Sequence[Amount], ease: EaseTables, fitting: FittingFacts
) -> EaseThere:
    least, most = ease.wanted(fitting)[girth]
    widened = {"bust": "full_small_bust", "waist": "waist_width", "hip": "hip_width"}[girth]
    added = 2 * sum(a.amount_mm for a in estimates if a.id == widened)
    finished = [size.finished(girth) for size in sizes]
    return EaseThere(girth, None if None in finished else _mean(finished) + added - body, least, most)


def _ease_says(one: EaseThere) -> str:
    usual = f"{{mm:{one.least:.0f}}} to {{mm:{one.most:.0f}}}"
    if one.there is None:
        return f"Ease at the {one.at}: {usual} is usual; the chart does not say how wide the finished garment is."
    if one.there < 0:
        return f"Ease at the {one.at}: none, the garment is {{mm:{-one.there:.0f}}} smaller than the body; {usual} is usual."
    verdict = "less than is usual" if one.there < one.least else "more than is usual" if one.there > one.most else "as is usual"
    return f"Ease at the {one.at}: {{mm:{one.there:.0f}}}, {verdict} ({usual})."
