"""Simulated diaries of posture, with and without a true change; used by the test and by the benchmark."""

from datetime import date, timedelta

import numpy as np

from fitcheck.core.check import PostureValue
from fitcheck.core.diary import Entry, Trend
from fitcheck.diary.trends import find_trends, posture_table

# standard deviations of one fitting's photos, as our checks of drawn fittings state them
PHOTO_SD = {
    "craniovertebral_angle": ("deg", 2.9),
    "shoulder_forward": ("mm", 6.0),
    "shoulder_slope": ("deg", 1.9),
    "shoulder_height_difference": ("mm", 4.4),
    "hip_height_difference": ("mm", 5.0),
    "trunk_lean": ("deg", 0.8),
    "stature": ("mm", 20.0),
}
SIDED = ("shoulder_forward", "shoulder_slope")


def simulate(
    rng: np.random.Generator, days: int, changed: str = "", change_mdc: float = 0.0, kind: str = "drift", repeats: int = 0
) -> tuple[Trend, ...]:
    """One diary.

    Parameters
    ----------
    days : int
        Over two years, unevenly apart.
    changed : str
        The number that truly changes, by `change_mdc` times the smallest detectable change, on both sides; else none does.
    kind : str
        drift | step (half way) | last (only the last day).
    repeats : int
        So many days have three fittings instead of one.
    """
    apart = np.sort(rng.choice(730, days, replace=False))
    share = {
        "drift": (apart - apart[0]) / (apart[-1] - apart[0]),
        "step": np.arange(days) >= days // 2,
        "last": np.arange(days) >= days - 1,
    }[kind]
    rows = []
    for k, offset in enumerate(apart):
        day = date(2024, 1, 1) + timedelta(days=int(offset))
        natural = {key: rng.normal(0, posture_table()[key]["natural_sd"]) for key in PHOTO_SD}
        for repeat in range(3 if k < repeats else 1):
            entry = Entry(len(rows), "Anna", "bodice", "", day, "tissue", repeat > 0, 4, "")
            for key, (unit, sd) in PHOTO_SD.items():
                size = change_mdc * 1.96 * 2**0.5 * np.hypot(sd, posture_table()[key]["natural_sd"]) if key == changed else 0.0
                for side in ("wearer_left", "wearer_right") if key in SIDED else (None,):
                    value = 40.0 + size * float(share[k]) + natural[key] + rng.normal(0, sd)
                    rows.append((entry, PostureValue(key, side, value, unit, sd)))
    return find_trends(rows)
