"""Posture numbers from the solved body points. They are tracked, never diagnosed: fitcheck measures how clothes fit."""

from collections.abc import Callable

import numpy as np

from fitcheck.core.check import PostureValue
from fitcheck.core.records import SIDES, Floats, Side, X, Y, Z
from fitcheck.core.solution import PointKey, Solution

TOO_UNSURE = {"mm": 25.0, "deg": 8.0}  # a number less sure is as wide as women differ, and says nothing; estimate
CURVE_TOO_UNSURE_MM = 12.0  # beyond, only the usual place of the blades carries it: arms held back hide the outline


def posture(body: Solution) -> tuple[PostureValue, ...]:
    """Posture numbers that are known well enough to be worth a line.

    Definitions: craniovertebral_angle between the line C7 - ear and the horizontal, seen from the side (Lau 2009); shoulder_forward of C7;
    shoulder_slope side neck to shoulder point below the horizontal, seen from the front; upper_back_curve, how far the shoulder blades
    stand behind the chord C7 - back waist, seen from the side; trunk_lean of the line middle of the hips - C7 from plumb, forward
    positive; bust_span; stature.
    """
    values: list[PostureValue] = []

    def add(name: str, side: Side | None, unit: str, formula: Callable[..., float], *keys: PointKey, limit: float | None = None) -> None:
        result = body.derive(formula, keys)
        if result.sd <= (limit or TOO_UNSURE[unit]):
            values.append(PostureValue(name, side, result.value, unit, result.sd))

    def craniovertebral(ear_left: Floats, ear_right: Floats, c7: Floats) -> float:
        ear = (ear_left + ear_right) / 2
        return float(np.degrees(np.arctan2(ear[Y] - c7[Y], ear[Z] - c7[Z])))

    c7: PointKey = ("back_neck_point", None)
    add("craniovertebral_angle", None, "deg", craniovertebral, ("ear", SIDES[0]), ("ear", SIDES[1]), c7)
    for side in SIDES:
        shoulder: PointKey = ("shoulder_point", side)
        neck: PointKey = ("side_neck_point", side)
        add("shoulder_forward", side, "mm", lambda point, c7: float(point[Z] - c7[Z]), shoulder, c7)
        add(
            "shoulder_slope",
            side,
            "deg",
            lambda point, neck: float(np.degrees(np.arctan2(neck[Y] - point[Y], abs(neck[X] - point[X])))),
            shoulder,
            neck,
        )
    both: list[PointKey] = [("shoulder_point", side) for side in SIDES]
    add("shoulder_height_difference", None, "mm", lambda left, right: float(left[Y] - right[Y]), *both)
    add("hip_height_difference", None, "mm", lambda left, right: float(left[Y] - right[Y]), ("hip_side", SIDES[0]), ("hip_side", SIDES[1]))
    blades: list[PointKey] = [("shoulder_blade", side) for side in SIDES]
    hips: list[PointKey] = [("hip_side", side) for side in SIDES]
    add("upper_back_curve", None, "mm", _curve, c7, ("waist_back", None), *blades, limit=CURVE_TOO_UNSURE_MM)
    add("trunk_lean", None, "deg", _lean, c7, *hips)
    add("bust_span", None, "mm", lambda left, right: float(left[X] - right[X]), ("bust_point", SIDES[0]), ("bust_point", SIDES[1]))
    add("stature", None, "mm", lambda crown: float(crown[Y]), ("crown", None))
    return tuple(values)


def _curve(c7: Floats, waist: Floats, left: Floats, right: Floats) -> float:
    """Depth of the blades behind the chord from C7 to the back waist, in the plane of the side view."""
    up, back = c7[Y] - waist[Y], waist[Z] - c7[Z]
    blades = (left + right) / 2
    across = up * (c7[Z] - blades[Z]) - back * (blades[Y] - c7[Y])
    return float(across / np.hypot(up, back))


def _lean(c7: Floats, left: Floats, right: Floats) -> float:
    hips = (left + right) / 2
    return float(np.degrees(np.arctan2(c7[Z] - hips[Z], c7[Y] - hips[Y])))
