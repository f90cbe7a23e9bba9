"""The wearer's own tape measurements against the same lengths out of the photos: a check on both.

Girths come from three or four points around a level taken for an ellipse (perimeter after Ramanujan, 1914). A trunk is squarer than an
ellipse and wider between its widest points than where it is seen, so each level has a factor, with a doubt that covers bodies of other
shape. What the photos cannot give (a high bust) is not compared.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fitcheck.core.check import TapeCheck
from fitcheck.core.records import Floats, X, Y, Z
from fitcheck.core.solution import PointKey, Solution

COVERAGE = 1.96  # 95 %, JCGM 100:2008, table G.1
FEWEST, DIFFERS = 3, 0.015  # lengths that must agree on a difference in size, and how large (a share) it must be; estimate
TOO_UNSURE = 0.05  # a figure of ours less sure than this says nothing about the tape: what is usual for her height is known to 7 %

# Standard uncertainty of a tape measurement taken at home, mm. Trained measurers of a survey were allowed to differ by 15 mm at the
# chest, 11 at the waist, 12 at the hip, 10 in stature (ANSUR, Gordon et al. 1989; from memory); for one taken at home about that as a
# standard deviation, and what is short in proportion: estimate.
TAPE_SD_MM = {
    "bust": 13.0,
    "waist": 12.0,
    "hip": 12.0,
    "shoulder_length": 6.0,
    "back_waist_length": 8.0,
    "bust_span": 8.0,
    "height": 8.0,
}


@dataclass(frozen=True, slots=True)
class _Own:
    """How a length is had from the solved points: factor (with its sd) times what `formula(*positions)` gives."""

    keys: tuple[PointKey, ...]
    formula: Callable[..., float]
    factor: float = 1.0
    factor_sd: float = 0.0


def perimeter_mm(width_mm: float, depth_mm: float) -> float:
    """Perimeter of an ellipse of that width and depth; Ramanujan's second approximation (1914).

    >>> round(perimeter_mm(200, 200), 6) == round(200 * np.pi, 6)
    True
    """
    a, b = width_mm / 2, depth_mm / 2
    h = ((a - b) / (a + b)) ** 2
    return float(np.pi * (a + b) * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h))))


def tape_checks(body: Solution, tape_mm: Mapping[str, float]) -> tuple[TapeCheck, ...]:
    """Compare the wearer's tape measurements with the solved body.

    Parameters
    ----------
    body : Solution
    tape_mm : mapping of str to float
        bust, waist, hip, shoulder_length (side neck to shoulder point, mean of both sides), back_waist_length (C7 to back waist, along
        the back), bust_span, height; others are passed over.

    Returns
    -------
    tuple of TapeCheck
        Those that the photos give to better than 5 %. `agrees`: the difference lies within the joint 95 % uncertainty.
    """
    checks: list[TapeCheck] = []
    for name, tape in tape_mm.items():
        own = _OWN.get(name)
        if own is None or any(key not in body for key in own.keys):
            continue
        found = body.derive(own.formula, own.keys)
        value = own.factor * found.value
        sd = float(np.hypot(own.factor * found.sd, own.factor_sd * found.value))
        if sd > TOO_UNSURE * value:
            continue
        agrees = bool(abs(tape - value) <= COVERAGE * np.hypot(sd, TAPE_SD_MM[name]))
        checks.append(TapeCheck(name, float(tape), value, sd, TAPE_SD_MM[name], agrees))
    return tuple(checks)


def unlike_the_tape(checks: Sequence[TapeCheck]) -> float:
    """By how much (a share) photos and tape together differ in size; 0 where chance explains it, or fewer than FEWEST lengths were given.

    A card printed off size shows in nothing else where no sticker lies beside it.

    Parameters
    ----------
    checks : sequence of TapeCheck

    Returns
    -------
    float
        Weighted mean of ours over the tape's, less 1, without its sign.
    """
    if len(checks) < FEWEST:
        return 0.0
    off = np.array([check.own_mm / check.tape_mm - 1 for check in checks])
    weight = np.array([check.tape_mm**2 / (check.own_sd_mm**2 + check.tape_sd_mm**2) for check in checks])
    mean = float(off @ weight / weight.sum())
    return abs(mean) if abs(mean) > max(DIFFERS, COVERAGE / np.sqrt(weight.sum())) else 0.0


def _around(left: Floats, right: Floats, front: Floats, back: Floats) -> float:
    return perimeter_mm(left[X] - right[X], front[Z] - back[Z])


def _bust(left: Floats, right: Floats, *points: Floats) -> float:
    bust_left, bust_right, blade_left, blade_right = points
    return perimeter_mm(left[X] - right[X], (bust_left[Z] + bust_right[Z] - blade_left[Z] - blade_right[Z]) / 2)


def _both(name: str) -> tuple[PointKey, ...]:
    return (name, "wearer_left"), (name, "wearer_right")


def _shoulders(*points: Floats) -> float:
    neck_left, neck_right, left, right = points
    return float(np.linalg.norm(neck_left - left) + np.linalg.norm(neck_right - right)) / 2


def _distance(a: Floats, b: Floats) -> float:
    return float(np.linalg.norm(a - b))


# Factors: measured on the invented bodies of our scenes, where the girths are known (over 22 of them waist 1.060, hip 1.053, bust 1.066,
# each varying by 0.011 to 0.015); the doubt is an estimate for real ones. The width at the bust is that between the underarm points; the
# hip's depth is taken from the seat to the front of the waist. Along the back a tape follows a curve: 2.7 % longer than its chord for
# 40 mm of depth on 400 mm (circle), estimate.
_OWN: dict[str, _Own] = {
    "bust": _Own((*_both("underarm_point"), *_both("bust_point"), *_both("shoulder_blade")), _bust, 1.066, 0.025),
    "waist": _Own((*_both("waist_side"), ("waist_front", None), ("waist_back", None)), _around, 1.06, 0.02),
    "hip": _Own((*_both("hip_side"), ("waist_front", None), ("seat", None)), _around, 1.05, 0.025),
    "shoulder_length": _Own((*_both("side_neck_point"), *_both("shoulder_point")), _shoulders, 1.01, 0.01),
    "back_waist_length": _Own((("back_neck_point", None), ("waist_back", None)), _distance, 1.025, 0.01),
    "bust_span": _Own(_both("bust_point"), lambda left, right: float(left[X] - right[X])),
    "height": _Own((("crown", None),), lambda crown: float(crown[Y])),
}
