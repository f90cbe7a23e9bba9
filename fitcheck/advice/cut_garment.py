"""What an alteration means once the cloth is cut: let out, taken in, sewn anew, or recut; rows of cut_garment.toml."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from fitcheck.advice.rows import Alteration, Id, Sourced, Words
from fitcheck.core.errors import KnowledgeError
from fitcheck.core.fitting import FittingFacts, Shaping

LEAST_ALLOWANCE_MM = 6.0  # what has to stay in a seam, 1/4 in (common practice)
WORTH_MM = 2.5  # a let-out smaller than this changes nothing (estimate)
WAYS = Literal["let out", "take in", "sew anew", "hem", "recut"]
_RECUT = "It cannot be done on the cut cloth. Cut this anew where cloth is left: {pieces}; or leave it for the next garment."
_TRY_ON = "Tack it and try it on before anything is sewn or trimmed."
_HOLDS = "The seam allowance of {{mm:{allowance:g}}} holds it: {{mm:{least:g}}} of it must stay in the seam."
_NOT_ALL = (
    "The seam allowance of {{mm:{allowance:g}}} lets each edge out by {{mm:{spare:g}}} at most, for {{mm:{least:g}}} must stay in the "
    "seam: that gives {{mm:{gives:.1f}}} of {{amount}}. For the rest piece cloth on, or leave it for the next garment."
)
_NOTHING = (
    "This would have to be let out, and a seam allowance of {{mm:{allowance:g}}} has nothing to give: {{mm:{least:g}}} must stay in it."
)


class CutRow(Sourced):
    """One alteration in one direction; see the head of cut_garment.toml."""

    alteration: Id
    direction: Literal["plus", "minus"]
    way: WAYS
    edge: Annotated[float, Field(gt=0, le=1)] = 1.0
    steps: tuple[Words, ...] = ()
    steps_dart: tuple[Words, ...] = ()
    steps_princess: tuple[Words, ...] = ()
    steps_none: tuple[Words, ...] = ()
    matching: tuple[Words, ...] = ()

    def steps_for(self, front: Shaping) -> tuple[str, ...]:
        """For every garment, and for this front."""
        return (*self.steps, *{"dart": self.steps_dart, "princess": self.steps_princess, "none": self.steps_none}[front])


@cache
def cut_rows() -> Mapping[tuple[str, str], CutRow]:
    """The rows that come with fitcheck, by alteration and direction."""
    return load_cut(files("fitcheck.advice") / "knowledge" / "cut_garment.toml")


def load_cut(file: Traversable) -> dict[tuple[str, str], CutRow]:
    """Load and check cut_garment.toml.

    Raises
    ------
    KnowledgeError
        A block lacks its source or has an unknown key, or one stands there twice. All faults are listed.
    """
    faults: list[str] = []
    rows: dict[tuple[str, str], CutRow] = {}
    try:
        blocks = tomllib.loads(file.read_text(encoding="utf-8")).get("cut", [])
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise KnowledgeError(f"cut_garment.toml cannot be read: {error}.", "Correct it; its head explains every key.") from error
    for block in blocks:
        label = f"{block.get('alteration')} {block.get('direction')}"
        try:
            row = CutRow.model_validate(block)
        except ValidationError as error:
            faults += [f"{label}: `{'.'.join(str(p) for p in e['loc'])}` {e['msg']}" for e in error.errors()]
            continue
        faults += [f"{label} stands there twice"] if (row.alteration, row.direction) in rows else []
        rows[row.alteration, row.direction] = row
    if faults:
        raise KnowledgeError(f"cut_garment.toml does not hold together: {'; '.join(faults)}.", "Correct it; its head explains every key.")
    return rows


def row_for(alteration: Alteration, amount_mm: float) -> CutRow:
    """The row for an amount of this sign; recut where there is none."""
    direction: Literal["plus", "minus"] = "minus" if amount_mm < 0 else "plus"
    none = CutRow(alteration=alteration.id, direction=direction, way="recut", source="estimate: what no seam is known to give")
    return cut_rows().get((alteration.id, direction), none)


def possible_mm(row: CutRow, fitting: FittingFacts) -> float:
    """The largest amount that the seam allowances give, mm; infinite where they do not matter, 0 where it has to be recut."""
    if row.way == "recut":
        return 0.0
    if row.way != "let out":
        return float("inf")
    gives = spare_mm(fitting) / row.edge
    return gives if gives >= WORTH_MM else 0.0


def spare_mm(fitting: FittingFacts) -> float:
    """What a seam edge can give."""
    return max(0.0, fitting.seam_allowance_mm - LEAST_ALLOWANCE_MM)


def steps_on_cloth(alteration: Alteration, cut_mm: float, front: Shaping, fitting: FittingFacts) -> tuple[str, ...]:
    """How it is done on cut cloth and how far the allowance goes.

    Parameters
    ----------
    cut_mm : float
        The amount to make, signed.
    front : str
        How the front is altered: dart, princess or none.

    Returns
    -------
    tuple of str
        With `{amount}`, `{half_amount}` and `{mm:...}` fields.
    """
    row = row_for(alteration, cut_mm)
    possible = possible_mm(row, fitting)
    limits = {"allowance": fitting.seam_allowance_mm, "least": LEAST_ALLOWANCE_MM, "spare": spare_mm(fitting), "gives": possible}
    recut = _RECUT.format(pieces=", ".join(alteration.pieces))
    if row.way == "recut":
        return (*row.steps_for(front), recut)
    if not possible:
        return (_NOTHING.format(**limits), recut)
    done = min(abs(cut_mm), possible)
    steps = [text.replace("{edge}", f"{{mm:{done * row.edge:.1f}}}") for text in row.steps_for(front)]
    if row.way == "let out":
        steps.append((_HOLDS if done == abs(cut_mm) else _NOT_ALL).format(**limits))
    return (*steps, _TRY_ON)
