"""Sixth stage: what the numbers mean for the pattern. Findings, what explains them all, and this round of alterations."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fitcheck.advice.findings import find
from fitcheck.advice.folds import fold_leans, in_words
from fitcheck.advice.last_round import given_up_leans, heeding, lessons, taken_back, with_lessons
from fitcheck.advice.other_half import of_the_other_half
from fitcheck.advice.plan import plan_round
from fitcheck.advice.prior import by_hand
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.advice import Explanation, Finding, Round
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.folds import FoldGroup
from fitcheck.core.last_round import LastRound
from fitcheck.core.records import Measurement
from fitcheck.stages.measure import Measured


@dataclass(frozen=True, slots=True)
class Advised:
    """What is said of a fitting.

    Attributes
    ----------
    measurements : tuple of Measurement
        Those of the photos, and what she measured by hand.
    fold_groups : tuple of FoldGroup
        In words.
    """

    measurements: tuple[Measurement, ...]
    findings: tuple[Finding, ...]
    explanations: tuple[Explanation, ...]
    round: Round
    fold_groups: tuple[FoldGroup, ...]


def advise(measured: Measured, facts: FittingFacts, last: LastRound | None = None) -> Advised:
    """Say what does not fit and what to alter, and what came of the last round where there was one.

    Raises
    ------
    NothingMeasuredError
        Neither lines nor stickers, so that nothing of the fit was measured.
    """
    table = knowledge()
    measurements = (*measured.measurements, *by_hand(table, facts))
    _require_something(measurements, measured)
    findings = find(measurements, table, facts)
    learnt = lessons(last, measurements, table, facts)
    leans = fold_leans(measured.fold_groups) | given_up_leans(last)
    solution = heeding(solve(measurements, table, facts, measured.posture, leans), learnt)
    plan = taken_back(last, learnt, measurements, table, facts) or plan_round(solution, findings, measurements, table, facts)
    beside = of_the_other_half(measurements, measured.posture, table, facts)
    return Advised(
        measurements=measurements,
        findings=findings,
        explanations=solution.explanations,
        round=with_lessons(replace(plan, look_again=(*beside, *plan.look_again)), learnt),
        fold_groups=in_words(measured.fold_groups, table),
    )


def _require_something(measurements: Sequence[Measurement], measured: Measured) -> None:
    """A person beside a card is no fitting yet; with stickers her posture at least is worth a report."""
    of_body = {observable.id for observable in knowledge().observables.values() if observable.of_body}
    if any(m.id not in of_body for m in measurements) or measured.marked:
        return
    if measured.lines_unseen:
        raise NothingMeasuredError(
            "The cloth has a pattern of its own, among which no seam lines can be told, and no stickers were found on the wearer, so "
            "nothing of the fit can be measured.",
            "Draw the seam lines twice as wide in a colour that the cloth has nowhere, or lay plain coloured tape along them, and retake.",
        )
    raise NothingMeasuredError(
        "No seam lines and no stickers were found on the wearer, so nothing of the fit can be measured.",
        "Draw the seam lines with a strong pen, or put stickers on the body points ('fitcheck card' prints them), and retake.",
    )
