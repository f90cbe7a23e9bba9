"""What came of the last round, and what this round makes of it: an alteration that did not show is not repeated larger, and a round
that was made and left the fit worse is taken back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fitcheck.advice.cutting import made_mm
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import Solution
from fitcheck.core.advice import Amount, Expectation, Round, RoundStep
from fitcheck.core.diary import Advised
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.core.outcome import Z95, Judged, Readings, Share, outcome_says, share_of
from fitcheck.core.records import Measurement

GIVEN_UP = 3.0  # nats by which an alteration that was made and taken back is less probable; one in twenty is asked for again (estimate)
LINE_SD_MM = 1.0  # how exactly a seam line is put back where it was (estimate)
ONE_FAULT = 1.0  # squared tolerances: a fit that is worse by less than one reading just out of place is not called worse
MADE: frozenset[Judged] = frozenset({"part", "done", "more"})
_UNDO = (
    "Take last round's change out again: open what was folded or overlapped, take out what was taped in, until every piece has the seam "
    "lines it had before that round.",
    "Pin the pieces together again as before, and photograph the fitting anew.",
)


@dataclass(frozen=True, slots=True)
class Lesson:
    """What came of one step of the last round.

    Attributes
    ----------
    name : str
        Plain name of the alteration.
    made_mm : float
        What was to be cut, signed.
    found : Share or None
        None where nothing that it changes was measured twice.
    """

    step: Advised
    name: str
    made_mm: float
    found: Share | None

    @property
    def judged(self) -> Judged:
        """What can be said of it."""
        return self.found.judged if self.found else "untold"

    @property
    def says(self) -> str:
        """In a sentence."""
        return outcome_says(self.name, self.made_mm, self.found)

    def is_of(self, amount: Amount) -> bool:
        """Whether an amount is of the same alteration, and not of the other side alone."""
        last = self.step.amount
        return amount.id == last.id and (amount.side == last.side or "both" in (amount.side, last.side))


def lessons(last: LastRound | None, measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts) -> tuple[Lesson, ...]:
    """What came of every step of the last round; alterations that the tables no longer know are passed over.

    Parameters
    ----------
    last : LastRound or None
        None in a first fitting.
    measurements : sequence of Measurement
        Of this fitting.
    """
    if last is None:
        return ()
    then, now = _by_key(last.measurements), _by_key(measurements)
    strays = {m.key: table.observables[m.id].straying(m.at) for m in last.measurements if m.id in table.observables}
    found = []
    for step in last.steps:
        if step.amount.id in table.alterations:
            alteration = table.alterations[step.amount.id]
            made = made_mm(step.amount, alteration, fitting)
            share = share_of(step.expect, then, now, lambda key: strays.get(key, 0.0))
            found.append(Lesson(step, alteration.direction(made).name, made, share))
    return tuple(found)


def given_up_leans(last: LastRound | None) -> dict[str, float]:
    """Nats by which what was tried and taken back is less probable than before."""
    return dict.fromkeys(last.given_up if last else (), -GIVEN_UP)


def heeding(solution: Solution, learnt: Sequence[Lesson]) -> Solution:
    """The solution with no alteration larger than the last round's where that showed hardly or in part: first it must be known why.

    After a round that was made, what only betters the fit is tried beside what is certain.
    """
    make, trial = (tuple(_no_larger(amount, learnt) for amount in amounts) for amounts in (solution.to_make, solution.to_try))
    return replace(solution, to_make=make, to_try=trial, beside=any(one.judged in MADE for one in learnt))


def _no_larger(amount: Amount, learnt: Sequence[Lesson]) -> Amount:
    most = [
        abs(one.made_mm) for one in learnt if one.judged in ("hardly", "part") and one.is_of(amount) and one.made_mm * amount.amount_mm > 0
    ]
    return replace(amount, amount_mm=float(np.copysign(min(abs(amount.amount_mm), *most), amount.amount_mm))) if most else amount


def with_lessons(plan: Round, learnt: Sequence[Lesson]) -> Round:
    """The round with what came of the last one; beside every step that repeats or turns back one of its alterations, what to think of."""

    def heeded(step: RoundStep) -> RoundStep:
        said = [text for one in learnt if one.is_of(step.amount) if (text := _caution(one, step))]
        return replace(step, caution=" ".join([*said, step.caution]).strip())

    return replace(plan, steps=tuple(map(heeded, plan.steps)), last_round=tuple(one.says for one in learnt))


def _caution(lesson: Lesson, step: RoundStep) -> str:
    """What to think of before an alteration of the last round is made again, or made the other way."""
    before, cut = abs(lesson.made_mm), abs(step.cut_mm or step.amount.amount_mm)
    last = f"Last round's {lesson.name} ({{mm:{before:.1f}}})"
    if step.amount.amount_mm * lesson.made_mm < 0:
        return f"{last} went further than needed: this takes part of it back." if lesson.judged in MADE else ""
    if lesson.judged == "wrong way":
        return f"{last} seems to have been made the wrong way round: {{mm:{min(before, cut):.1f}}} of this takes it back."
    if lesson.judged == "hardly":
        return (
            f"{last} hardly shows. Check first whether it was made in full, on every piece and in the right place, and finish it if not. "
            "If it was, do not make it again: something else holds the cloth there, and an experienced fitter should look."
        )
    return f"{last} shows in part. This is no more than that: see first that it was made in full." if lesson.judged == "part" else ""


def taken_back(
    last: LastRound | None, learnt: Sequence[Lesson], measurements: Sequence[Measurement], table: Knowledge, fitting: FittingFacts
) -> Round | None:
    """A round that takes the last one back, where its alterations were made and the fit as a whole is worse for them; else None.

    What was not made, or was made the wrong way round, is no reason: that is put right by making it.
    """
    if last is None or not any(one.judged in MADE for one in learnt):
        return None
    then, now = _by_key(last.measurements), _by_key(measurements)
    worse = _became_worse(then, now, table, fitting)
    if not worse:
        return None
    steps = tuple(_undone(one, last.fitting, then, now, worse, table) for one in learnt)
    summary = (
        "Last round's alterations were made, and the fit became worse. Take them back and photograph again; fitcheck then looks for "
        "another explanation."
    )
    return Round(steps, summary, look_again=("whether what became worse is as it was before",))


def _became_worse(then: Readings, now: Readings, table: Knowledge, fitting: FittingFacts) -> tuple[str, ...]:
    """Readings that are further out of tolerance than before, where all readings together are, beyond doubt; else nothing.

    Judged by the sum of squares of what lies beyond tolerance, in tolerances; its doubt is that of both readings to first order.
    """
    growth = variance = 0.0
    worse = []
    for key in then.keys() & now.keys():
        row = table.observables.get(now[key].id)
        if row is None or row.of_body or not row.applies(now[key].at, fitting):
            continue
        beyond = [max(0.0, abs(row.deviation(m, fitting)) - row.tolerance.amount) / row.tolerance.amount for m in (then[key], now[key])]
        growth += beyond[1] ** 2 - beyond[0] ** 2
        variance += sum((2 * b * m.sd / row.tolerance.amount) ** 2 for b, m in zip(beyond, (then[key], now[key]), strict=True))
        if beyond[1] > beyond[0]:
            worse.append((beyond[0] - beyond[1], key))
    return tuple(key for _, key in sorted(worse)) if growth > max(ONE_FAULT, Z95 * variance**0.5) else ()


def _undone(lesson: Lesson, fitting: int, then: Readings, now: Readings, worse: tuple[str, ...], table: Knowledge) -> RoundStep:
    """One alteration of the last round, taken back: the readings should be what they were."""
    alteration, side = table.alterations[lesson.step.amount.id], lesson.step.amount.side
    changed = {one.measurement for one in lesson.step.expect}
    back = tuple(Expectation(key, now[key].value, m.value) for key, m in then.items() if key in now and key in changed)
    return RoundStep(
        Amount(alteration.id, side, -lesson.made_mm, LINE_SD_MM, 1.0, f"take back {lesson.name}"),
        f"take back {lesson.name}",
        alteration.group,
        f"It was made after fitting {fitting}, and the fit as a whole is worse since.",
        _UNDO,
        (),
        back,
        evidence_for=worse,
        cut_mm=-lesson.made_mm,
    )


def _by_key(measurements: Sequence[Measurement]) -> dict[str, Measurement]:
    return {m.key: m for m in measurements}
