"""What all fittings of a wearer taught: her usual alterations with amounts and spread, to begin the next pattern with."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from fitcheck.core.advice import Amount, Expectation
from fitcheck.core.diary import Advised, Entry, Profile, Usual
from fitcheck.core.outcome import ENOUGH, Z95
from fitcheck.diary.names import folded
from fitcheck.diary.reading import hers, notes, posture_rows, tapes
from fitcheck.diary.store import Diary

MOST_SHARE = 1.25
SMALLEST_MM = 2.0  # less than this left over is no alteration


def profile(diary: Diary, wearer: str, maker: str | None = None) -> Profile:
    """Her profile from all garments, or from those of one maker.

    A garment's need of one alteration is what was made in its rounds, each counted by the share that then showed in the photos, plus
    what its last fitting still asks for. Repeats of one day count once.

    Raises
    ------
    DiaryError
        The diary does not know her.
    """
    her = diary.wearer(wearer)
    entries = [e for e in diary.entries(her) if not e.retake and (maker is None or folded(e.maker) == folded(maker))]
    rounds, later, readings = _advice(diary, her)
    by_garment: dict[str, list[Entry]] = {}
    for entry in entries:
        by_garment.setdefault(entry.garment, []).append(entry)
    needs = {garment: garment_needs(_numbers(of), rounds, later, readings) for garment, of in by_garment.items()}
    latest = {(value.id, value.side): value for entry, value in posture_rows(diary, her) if not entry.retake}
    return Profile(
        her,
        maker or "",
        len(entries),
        tuple(by_garment),
        usual(needs),
        tuple(latest.values()),
        tuple(tapes(diary, her)),
        tuple(notes(diary, her)),
    )


Need = dict[tuple[str, str], tuple[float, float]]
Rounds = Mapping[int, Sequence[Advised]]


def garment_needs(
    numbers: Sequence[int], rounds: Rounds, later: Mapping[int, Sequence[Amount]], readings: Mapping[int, Mapping[str, tuple[float, float]]]
) -> Need:
    """What one garment needed in all: alteration and side to (mm, sd).

    Parameters
    ----------
    numbers : sequence of int
        Its fittings in order.
    rounds, later : dict of fitting to what was to be altered then, and what was left for later
    readings : dict of fitting to dict of measurement key to (value, sd)
    """
    need: Need = {}
    for number, following in pairwise(numbers):
        for step in rounds.get(number, ()):
            share = made_share(step.expect, readings.get(number, {}), readings.get(following, {}))
            _add(need, step.amount, share)
    if numbers:
        for amount in [*(step.amount for step in rounds.get(numbers[-1], ())), *later.get(numbers[-1], ())]:
            _add(need, amount, 1.0)
    return {key: (mm, math.sqrt(variance)) for key, (mm, variance) in need.items() if abs(mm) >= SMALLEST_MM}


def made_share(expect: Sequence[Expectation], before: Mapping[str, tuple[float, float]], after: Mapping[str, tuple[float, float]]) -> float:
    """How much of an alteration the next photos show (0 to 1.25); 1 where they cannot tell."""
    power = got = 0.0
    for one in expect:
        if one.measurement in before and one.measurement in after:
            (y0, sd0), (y1, sd1) = before[one.measurement], after[one.measurement]
            weight = 1 / max(sd0**2 + sd1**2, 1e-6)
            wanted = one.after - one.before
            power += weight * wanted**2
            got += weight * wanted * (y1 - y0)
    if power <= 1 / ENOUGH**2:
        return 1.0
    return min(max(got / power, 0.0), MOST_SHARE)


def usual(needs: Mapping[str, Need]) -> tuple[Usual, ...]:
    """Alterations over garments, the most frequent first; what was added in one garment and taken away in another are two.

    The spread between garments beyond their own uncertainty is DerSimonian and Laird's estimate (Controlled Clinical Trials 7, 1986;
    from memory); the range for the next garment adds spread and uncertainty of the mean.
    """
    found = []
    for id, side, plus in dict.fromkeys((id, side, mm > 0) for need in needs.values() for (id, side), (mm, _) in need.items()):
        amounts = [(garment, *of) for garment, need in needs.items() if (of := need.get((id, side))) and (of[0] > 0) is plus]
        mean, sd, spread = _random_effects([mm for _, mm, _ in amounts], [max(sd, 0.5) for _, _, sd in amounts])
        reach = Z95 * math.hypot(sd, spread)
        found.append(Usual(id, side, len(amounts), len(needs), mean, sd, spread, mean - reach, mean + reach, tuple(amounts)))
    return tuple(sorted(found, key=lambda u: (-u.needed, -abs(u.amount_mm))))


def _random_effects(values: Sequence[float], sds: Sequence[float]) -> tuple[float, float, float]:
    weights = [1 / sd**2 for sd in sds]
    total = sum(weights)
    mean = sum(w * x for w, x in zip(weights, values, strict=True)) / total
    q = sum(w * (x - mean) ** 2 for w, x in zip(weights, values, strict=True))
    free = total - sum(w * w for w in weights) / total
    between = max(0.0, (q - (len(values) - 1)) / free) if free > 0 else 0.0
    weights = [1 / (sd**2 + between) for sd in sds]
    total = sum(weights)
    return sum(w * x for w, x in zip(weights, values, strict=True)) / total, 1 / math.sqrt(total), math.sqrt(between)


def _add(need: Need, amount: Amount, share: float) -> None:
    mm, variance = need.get((amount.id, amount.side), (0.0, 0.0))
    need[amount.id, amount.side] = mm + share * amount.amount_mm, variance + amount.sd_mm**2


def _numbers(entries: Sequence[Entry]) -> list[int]:
    return [entry.number for entry in entries]


def _advice(
    diary: Diary, wearer: str
) -> tuple[dict[int, list[Advised]], dict[int, list[Amount]], dict[int, dict[str, tuple[float, float]]]]:
    """Advice and measurements of all her fittings in three queries, whatever their number."""
    rest = hers(diary, wearer)
    expected: dict[tuple[int, str, str], list[Expectation]] = {}
    keys: set[str] = set()
    for number, alteration, side, *one in diary.checked("expected", "fitting, alteration, side, key, before, after", *rest):
        expected.setdefault((number, alteration, side), []).append(Expectation(*one))
        keys.add(one[0])
    rounds: dict[int, list[Advised]] = {}
    later: dict[int, list[Amount]] = {}
    for number, now, *one in diary.checked("advised", "fitting, now, alteration, side, amount_mm, sd_mm, probability", *rest):
        amount = Amount(*one)
        if now:
            rounds.setdefault(number, []).append(Advised(amount, tuple(expected.get((number, amount.id, amount.side), ()))))
        else:
            later.setdefault(number, []).append(amount)
    readings: dict[int, dict[str, tuple[float, float]]] = {}
    for number, key, value, sd in diary.checked("measurement", "fitting, key, value, sd", *rest):
        if key in keys:
            readings.setdefault(number, {})[key] = value, sd
    return rounds, later, readings
