"""Lengths as a dressmaker says them: cm to the millimetre, or inches with fractions to 1/8.

The only place that knows units other than mm. Amounts to cut are told as a ruler has them: to a quarter of a centimetre, an eighth of an
inch, or finer where the wearer asks for it.
"""

import math
import re
from collections.abc import Callable
from typing import Literal

from fitcheck.core.errors import KnowledgeError
from fitcheck.core.lengths import MM_PER_INCH

Units = Literal["cm", "in", "in/16"]  # in/16: inches, amounts to a sixteenth

COVERAGE = 2.0  # plus-or-minus is the expanded uncertainty, k = 2: about 19 times in 20 (JCGM 100:2008, 6.2-6.3)
_STEP_MM: dict[Units, float] = {"cm": 1.0, "in": MM_PER_INCH / 8, "in/16": MM_PER_INCH / 8}
QUARTER_MM = 2.5
_ON_IT = 0.06  # mm: lengths are handed on to a tenth
_FIELD = re.compile(r"\{([^{}]*)\}")
_LOOSE = re.compile(r" (?:(?<=\d )(?=cm\b|in\b|\d/\d)|(?<=± ))")  # begins with the blank, so that pictures are passed over quickly
_NUMBER = re.compile(r"(mm_sd|deg_sd|mm|deg|cut):\s*([-+]?\d+(?:\.\d+)?)")


def length(mm: float, units: Units) -> str:
    """A length as words: `1.0 cm`, `3/8 in`, `−1 1/4 in`.

    Parameters
    ----------
    mm : float
        Millimetres, signed.
    units : {"cm", "in"}

    Returns
    -------
    str
        Rounded to the nearest millimetre or eighth of an inch, halves away from zero. What rounds to nothing is "0 cm" or "0 in".

    Examples
    --------
    >>> length(10, "cm"), length(10, "in"), length(-31.75, "in")
    ('1.0 cm', '3/8 in', '−1 1/4 in')
    """
    steps = math.floor(abs(mm) / _STEP_MM[units] + 0.5)
    return ("−" if mm < 0 and steps else "") + _steps(steps, units)


def amount(mm: float, units: Units) -> str:
    """An amount to cut, without its sign: `1.0 cm`, `0.75 cm`, `3/8 in`.

    Quarters of a centimetre are told exactly, others to the millimetre; inches to an eighth, the half of one exactly, or all to a sixteenth
    where that is asked for.

    Examples
    --------
    >>> amount(-7.5, "cm"), amount(8, "cm"), amount(10, "in"), amount(11.1, "in/16")
    ('0.75 cm', '0.8 cm', '3/8 in', '7/16 in')
    """
    sixteenths = round(abs(mm) / MM_PER_INCH * 16)
    if units == "in/16" or (units == "in" and abs(abs(mm) - sixteenths * MM_PER_INCH / 16) < _ON_IT):
        return _inches(sixteenths, 16)
    quarters = round(abs(mm) / QUARTER_MM)
    if units == "cm" and quarters % 2 and abs(abs(mm) - quarters * QUARTER_MM) < _ON_IT:
        return f"{quarters * QUARTER_MM / 10:.2f} cm"
    return length(abs(mm), units)


def plus_minus(mm: float, sd_mm: float, units: Units) -> str:
    """A length with its expanded uncertainty: `1.0 cm ± 0.3 cm`, `3/8 in ± 1/8 in`.

    Parameters
    ----------
    mm, sd_mm : float
        Value and standard uncertainty, mm.
    units : {"cm", "in"}

    Examples
    --------
    >>> plus_minus(10.2, 1.4, "cm"), plus_minus(10.2, 1.4, "in")
    ('1.0 cm ± 0.3 cm', '3/8 in ± 1/8 in')
    """
    return f"{length(mm, units)} ± {margin(sd_mm, units)}"


def margin(sd_mm: float, units: Units) -> str:
    """The plus-or-minus alone: twice the standard uncertainty, never less than one step of the scale.

    Rounded up, but for a tenth of a step (JCGM 100:2008, 7.2.6: uncertainties are better rounded up, with common sense).

    Examples
    --------
    >>> margin(1.4, "cm"), margin(0.2, "cm"), margin(3, "in")
    ('0.3 cm', '0.1 cm', '1/4 in')
    """
    return _steps(max(1, math.ceil(COVERAGE * sd_mm / _STEP_MM[units] - 0.1)), units)


def angle(deg: float) -> str:
    """An angle to a tenth of a degree.

    Examples
    --------
    >>> angle(-1.33), angle(0.04)
    ('−1.3°', '0.0°')
    """
    text = f"{abs(deg):.1f}°"
    return ("−" if deg < 0 and text != "0.0°" else "") + text


def quantity(value: float, unit: str, units: Units) -> str:
    """A measured value, a length or an angle by its `unit` (mm | deg)."""
    return angle(value) if unit == "deg" else length(value, units)


def quantity_margin(sd: float, unit: str, units: Units) -> str:
    """Its plus-or-minus, from the standard uncertainty."""
    return f"{max(0.1, math.ceil(COVERAGE * sd * 10 - 0.1) / 10):.1f}°" if unit == "deg" else margin(sd, units)


def fill(text: str, units: Units, amount_mm: float | None = None) -> str:
    """Put lengths and angles into a sentence of the knowledge tables.

    Parameters
    ----------
    text : str
        With fields `{amount}`, `{half_amount}`, `{cut:<number>}` (an amount to cut), `{mm:<number>}`, `{deg:<number>}`; `{mm_sd:<number>}`
        and `{deg_sd:<number>}` are told as the plus-or-minus of that standard uncertainty.
    units : {"cm", "in", "in/16"}
    amount_mm : float, optional
        For the first two fields, which show its size without a sign: an instruction says "raise" or "lower".

    Raises
    ------
    KnowledgeError
        On any other field, or an amount where none is known.

    Examples
    --------
    >>> fill("Lower it by {amount}; the seam lies {mm:12.3} behind.", "cm", amount_mm=-10)
    'Lower it by 1.0 cm; the seam lies 1.2 cm behind.'
    """
    return _FIELD.sub(_filler(units, amount_mm), text)


def refill(text: str, units: Units) -> str:
    """A sentence that was kept with its fields, told now; fields that are none of ours stay, as an archive may hold any text.

    Examples
    --------
    >>> refill("This round: forward shoulder, {cut:10}, {hem}.", "in")
    'This round: forward shoulder, 3/8 in, {hem}.'
    """
    return _FIELD.sub(lambda match: fill(match[0], units) if _NUMBER.fullmatch(match[1].strip()) else match[0], text)


def _filler(units: Units, amount_mm: float | None) -> Callable[[re.Match[str]], str]:
    def fill_one(match: re.Match[str]) -> str:
        field = match[1].strip()
        if field in ("amount", "half_amount") and amount_mm is not None:
            return amount(amount_mm / (2 if field == "half_amount" else 1), units)
        if (number := _NUMBER.fullmatch(field)) and number[1] == "cut":
            return amount(float(number[2]), units)
        if number and number[1].endswith("_sd"):
            return quantity_margin(float(number[2]), number[1].removesuffix("_sd"), units)
        if number:
            return quantity(float(number[2]), number[1], units)
        raise KnowledgeError(
            f"A sentence has the field {match[0]}, which cannot be filled here.", "Use {amount}, {half_amount}, {mm:12.3} or {deg:1.3}."
        )

    return fill_one


def _steps(steps: int, units: Units) -> str:
    if units == "cm":
        return f"{steps // 10}.{steps % 10} cm" if steps else "0 cm"
    return _inches(steps, 8)


def _inches(parts: int, of: int) -> str:
    """So many eighths or sixteenths of an inch."""
    whole, rest = divmod(parts, of)
    divisor = math.gcd(rest, of)
    fraction = f"{rest // divisor}/{of // divisor}" if rest else ""
    return (" ".join(part for part in (str(whole) if whole else "", fraction) if part) or "0") + " in"


def keep_together(page: str) -> str:
    """A whole page with unbreakable blanks between each number and its unit."""
    return _LOOSE.sub("\u00a0", page)
