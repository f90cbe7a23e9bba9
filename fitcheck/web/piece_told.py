"""What the forms about a piece tell: which piece it is, its allowance, what was chosen among several, and what is to be altered."""

import re
from collections.abc import Mapping, Sequence
from typing import Literal

from fitcheck.core.errors import UsageError
from fitcheck.core.lengths import MM_PER_UNIT
from fitcheck.web.piece_work import Asked, Told
from fitcheck.web.told import number

LONGEST_MM, MOST_MM = 60.0, 200.0  # of an allowance, and of an alteration
ALTERATIONS = 3  # that can be chosen by hand at a time
NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
Unit = Literal["cm", "in"]


def asked_of(form: Mapping[str, str], of_round: Sequence[Asked], unit: float) -> tuple[Asked, ...]:
    """The alterations that a form asks for: those of the round that are ticked, others by name and amount.

    Raises
    ------
    UsageError
        An amount is no number, or cannot be.
    """
    found = [one for k, one in enumerate(of_round) if form.get(f"round_{k}")]
    for k in range(ALTERATIONS):
        id, text = form.get(f"other_{k}", ""), form.get(f"amount_{k}", "")
        if id and text:
            sign = -1.0 if text.startswith(("-", "−")) else 1.0
            found.append((id, sign * _length(text.lstrip("-−+ "), unit, "The amount", MOST_MM), form.get(f"one_{k}") == "yes"))
    return tuple(found)


def told_of(form: Mapping[str, str], before: Told, unit: float) -> Told:
    """What a form tells of a piece; what it leaves out stays, but for what was chosen among several.

    Raises
    ------
    UsageError
        A number is none, or cannot be.
    """
    allowance = before.allowance_mm if "allowance" not in form else _length(form["allowance"] or "0", unit, "The allowance", LONGEST_MM)
    bar = before.bar_mm if not form.get("bar") else _length(form["bar"], 1.0, "The card's bar", 120.0)
    name = form.get("name") or before.name
    if not NAME.fullmatch(name):
        raise UsageError("A piece cannot be called that.", "Choose what it is from the list.")
    at = None
    if form.get("at"):
        x, y = (_length(part, 1.0, "That place", 1e4, -1e4) for part in (form["at"] + ",").split(",")[:2])
        at = (x, y)
    return Told(name, allowance, bar, form.get("size", ""), at)


def _length(text: str, unit: float, what: str, most_mm: float, least_mm: float = 0.0) -> float:
    try:
        value = float(str(number(text)))
    except ValueError:
        raise UsageError(f"{what} is no number.", "Write it as 1.5 or 1 1/2.") from None
    if not least_mm <= value * unit <= most_mm:
        raise UsageError(f"{what} cannot be {text}.", "Look at the unit and write it again.")
    return value * unit


def in_unit(mm: float, unit: Unit) -> str:
    """A length as she types it."""
    return f"{mm / MM_PER_UNIT[unit]:.4g}"
