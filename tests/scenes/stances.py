"""Ways in which people stand, as posture fields of `spec.Posture`: where the arms are, one-sidedness of shoulders and hips, the head.

Degrees. Women of all kinds stand in all of them: no draw depends on the body. Spreads are estimates; that of one-sided shoulders follows
a photographed survey of women, whose shoulders differ in height by 8.8 +/- 10.5 mm (published, from memory).
"""

from collections.abc import Callable, Sequence

import numpy as np

Draw = Callable[[float, float], float]
# Backwards from hanging, towards the body (24: some 20 degrees out, 40: hanging close), elbow (-45 straight, 0 bent by some 45).
# In all but the last the arms are clear of the body, so that cloth can hang between them.
ARMS: dict[str, tuple[tuple[float, float], tuple[float, float], tuple[float, float]]] = {
    "far back": ((38, 60), (18, 32), (-36, -10)),
    "half back": ((14, 38), (16, 30), (-40, -12)),
    "hanging clear": ((-6, 14), (12, 27), (-42, -12)),
    "out": ((-6, 20), (-6, 12), (-42, -5)),
    "bent": ((8, 52), (8, 26), (0, 45)),
    "hands on thighs": ((-14, -2), (16, 27), (-22, 8)),
    "hanging close": ((-8, 14), (27, 40), (-42, -12)),
}
CLEAR = tuple(name for name in ARMS if name != "hanging close")
# One side otherwise than the other; 1 degree of the collar bone is 2.4 mm at the shoulder point.
ONE_SIDED_SD = {"shoulder_forward_right_extra": 2.4, "shoulder_right_lower": 3.2, "hip_right_lower": 1.3, "pelvis_left": 0.8}
LARGE_SHARE, LARGE = 0.15, 2.2  # of women are so much more one-sided


def arms(random: np.random.Generator, kinds: Sequence[str] = tuple(ARMS)) -> dict[str, float]:
    """Both arms alike but for a few degrees."""
    back, add, elbow = (float(random.uniform(*span)) for span in ARMS[kinds[int(random.integers(len(kinds)))]])
    found = {"arm_back": back, "arm_add": add, "elbow_flex": elbow}
    return _rounded(found | {name + "_right_extra": float(random.normal(0, sd)) for name, sd in (("arm_back", 3.5), ("arm_add", 2.0))})


def one_sided(random: np.random.Generator) -> dict[str, float]:
    """Shoulders and hips of two heights, one shoulder before the other, the weight on one leg; few women are very one-sided."""
    more = LARGE if random.uniform() < LARGE_SHARE else 1.0
    return _rounded({name: float(random.normal(0, sd * more)) for name, sd in ONE_SIDED_SD.items()})


def head(random: np.random.Generator) -> dict[str, float]:
    """A little turned and tilted."""
    return _rounded({"head_turn": float(random.normal(0, 5)), "head_tilt": float(random.normal(0, 3))})


def _rounded(found: dict[str, float]) -> dict[str, float]:
    return {name: round(value, 1) for name, value in found.items()}
