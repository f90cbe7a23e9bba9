"""Whether the alterations that a fitting needs are named, and why those that are not were missed: by the truth of drawn scenes.

What is needed says the fit equation, given all true observables almost without doubt and none of them wild. It is named where the round or
a later one has it, the same way and side; rightly where the amount lies within `AMOUNT_MM` or two standard deviations. A miss has the first
of these causes that holds:

not measured         also the true values of what was measured do not tell it
doubt too wide       they do, but not with the doubts that were told
another explanation  something that is not needed was named instead, of the same readings
misread              the values themselves were wrong, or stood in their way by chance
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal
from unittest.mock import patch

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import Solution, solve
from fitcheck.core.advice import Amount
from fitcheck.core.check import FitCheck
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import Measurement

AMOUNT_MM, SDS = 3.0, 2.0
HARDLY_WILD = 1e-12  # odds of a wild reading among true values
Verdict = Literal["right", "amount off", "wrong way", "not measured", "doubt too wide", "another explanation", "misread", "false"]
NAMED: tuple[Verdict, ...] = ("right", "amount off", "wrong way")
MISSED: tuple[Verdict, ...] = ("not measured", "doubt too wide", "another explanation", "misread")


@dataclass(frozen=True)
class Judged:
    """One alteration that is needed, or was named without need."""

    verdict: Verdict
    text: str
    later: bool


def needed_by(truly: Sequence[Measurement], table: Knowledge, facts: FittingFacts) -> Solution:
    """What true values ask for."""
    with patch("fitcheck.advice.problem.PROBABILITY_WILD", HARDLY_WILD):
        return solve(truly, table, facts)


def judge(result: FitCheck, truly: Mapping[str, Measurement], table: Knowledge, facts: FittingFacts) -> list[Judged]:
    """Every alteration that the truth asks for, and every one named that it does not ask for."""
    reference = needed_by(list(truly.values()), table, facts)
    proposed = [(step.amount, False) for step in result.round.steps] + [(amount, True) for amount in result.round.later]
    false = [(a, later) for a, later in proposed if not _like(a, reference.needed)]
    found = [_of_need(a, proposed, [f for f, _ in false], result, truly, table, facts) for a in reference.needed]
    for a, later in false:
        found.append(Judged("false", f"{_told(a)}, p {reference.probabilities.get(a.id, 0.0):.2f} by the truth", later))
    return found


def _of_need(
    needed: Amount,
    proposed: Sequence[tuple[Amount, bool]],
    false: Sequence[Amount],
    result: FitCheck,
    truly: Mapping[str, Measurement],
    table: Knowledge,
    facts: FittingFacts,
) -> Judged:
    same = [(a, later) for a, later in proposed if _like(a, [needed])]
    if same:
        best, later = min(same, key=lambda one: abs(one[0].amount_mm - needed.amount_mm))
        off = abs(best.amount_mm - needed.amount_mm)
        way = best.amount_mm * needed.amount_mm > 0
        verdict: Verdict = "wrong way" if not way else "right" if off <= max(AMOUNT_MM, SDS * best.sd_mm) else "amount off"
        return Judged(verdict, f"{_told(best)}, needed {_told(needed)}", later)
    told = {m.key: m for m in result.measurements if m.key in truly}
    seen = [truly[key] for key in told]
    if not _like(needed, needed_by(seen, table, facts).needed):
        return Judged("not measured", _told(needed), False)
    if not _like(needed, solve([replace(m, value=truly[m.key].value) for m in told.values()], table, facts).needed):
        return Judged("doubt too wide", _told(needed), False)
    shows = set(table.alterations[needed.id].effects.per_10)
    instead = [a for a in false if shows & set(table.alterations[a.id].effects.per_10)]
    return Judged("another explanation" if instead else "misread", f"{_told(needed)}{_instead(instead)}", False)


def _like(amount: Amount, others: Sequence[Amount]) -> bool:
    return any(a.id == amount.id and (a.side == amount.side or "both" in (a.side, amount.side)) for a in others)


def _told(a: Amount) -> str:
    return f"{a.id} {a.side} {a.amount_mm:+.1f}" + (f" ({a.sd_mm:.1f})" if a.sd_mm else "")


def _instead(amounts: Sequence[Amount]) -> str:
    return f", but {', '.join(_told(a) for a in amounts)}" if amounts else ""
