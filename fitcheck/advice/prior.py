"""What tape and posture say before anything is seen on the garment: readings by hand, and how far posture leans the prior odds."""

from collections.abc import Mapping, Sequence

from fitcheck.advice.rows import Knowledge
from fitcheck.core.check import PostureValue
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import SIDES, Measurement, measurement_key

TAPE_SD_MM = 9.0  # large girths; ISO 20685-1 (read in a textbook's table)
BY_HAND = 0.5  # sd of a reading by hand, in tolerances (estimate)
MOST_LEAN = 1.0  # nats: posture alone never decides
# Posture, its mean and sd among women, and by how much one sd more raises the log odds of an alteration (the last an estimate).
# Shoulder forward of C7 and slope: 600 Spanish women, landmarks of the R package Anthropometry 1.20; craniovertebral angle: Lau 2009, read
# as an excerpt; heights: the same 600 women.
LEANS: tuple[tuple[str, float, float, str, float], ...] = (
    ("shoulder_forward", 26.0, 15.0, "forward_shoulder", 0.5),
    ("craniovertebral_angle", 50.6, 5.0, "neck_forward", -0.4),
    ("craniovertebral_angle", 50.6, 5.0, "rounded_erect_upper_back", -0.3),
)
# Here it is the size of the difference that counts, not its sign.
UNEVEN: tuple[tuple[str, float, str, float], ...] = (
    ("shoulder_height_difference", 10.5, "uneven_shoulders", 0.5),
    ("hip_height_difference", 10.0, "uneven_hips", 0.5),
)


def names_by_hand(table: Knowledge) -> tuple[str, ...]:
    """Every name that `observed` in fitting.toml may use."""
    return tuple(measurement_key(o.id, at, side) for o in table.observables.values() for at in o.levels for side in o.sides(at))


def by_hand(table: Knowledge, fitting: FittingFacts) -> tuple[Measurement, ...]:
    """What the wearer measured with tape or pins, as measurements: `observed` in fitting.toml, and the bust girths of its [tape] table.

    Names the tables do not know are passed over.
    """
    found = []
    values: Mapping[str, float] = fitting.observed
    for observable in table.observables.values():
        for at in observable.levels:
            for side in (None, *SIDES):
                key = measurement_key(observable.id, at, side)
                if key in values and side in observable.sides(at) and observable.applies(at, fitting):
                    sd = BY_HAND * observable.tolerance.amount
                    found.append(Measurement(observable.id, at, side, None, values[key], observable.unit, sd, {"by_hand": sd}))
    high, full = fitting.tape.high_bust, fitting.tape.bust
    if high is not None and full is not None and table.observables["cup_excess"].applies("", fitting):
        sd = TAPE_SD_MM * 2**0.5
        found.append(Measurement("cup_excess", "", None, None, full - high - fitting.drafted_cup_difference_mm, "mm", sd, {"tape": sd}))
    return tuple(found)


def leaning(posture: Sequence[PostureValue]) -> dict[str, float]:
    """Nats by which posture changes the prior log odds of alterations; readings that are not sure lean less."""
    leans: dict[str, float] = {}
    for id, mean, spread, alteration, slope in LEANS:
        known = [p for p in posture if p.id == id]
        if known:
            value = sum(p.value for p in known) / len(known)
            leans[alteration] = leans.get(alteration, 0.0) + slope * (value - mean) * spread / (spread**2 + known[0].sd ** 2)
    for id, spread, alteration, slope in UNEVEN:
        for p in posture:
            if p.id == id:
                leans[alteration] = slope * (abs(p.value) * spread / (spread**2 + p.sd**2) - 0.8)  # 0.8 sd is the mean size of a Gaussian
    return {id: max(-MOST_LEAN, min(MOST_LEAN, lean)) for id, lean in leans.items()}
