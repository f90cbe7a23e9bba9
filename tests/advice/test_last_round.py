"""The second round, by cases a dressmaker could check: the shoulder seam was moved forward, and what the photos show then."""

from itertools import pairwise

import pytest

from fitcheck.advice.last_round import given_up_leans, heeding, lessons, taken_back, with_lessons
from fitcheck.advice.plan import plan_round
from fitcheck.advice.solve import solve
from fitcheck.advice.table import knowledge
from fitcheck.core.advice import Amount, Expectation, Round
from fitcheck.core.diary import Advised
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.core.records import Measurement

FACTS, TABLE = FittingFacts(), knowledge()
TIPS = tuple(f"shoulder_seam_behind_tip_{side}" for side in "LR")


def last(before: list[Measurement], made_mm: float = 10.0, **more: object) -> LastRound:
    """A forward shoulder of that amount, which should bring the seam's outer end forward by as much."""
    values = {m.key: m.value for m in before}
    expect = tuple(Expectation(key, values[key], values[key] - made_mm) for key in TIPS)
    return LastRound(7, tuple(before), (Advised(Amount("forward_shoulder", "both", made_mm, 1.0), expect),), **more)


def second(before: LastRound, now: list[Measurement]) -> Round:
    """What `stages.advise` does, without findings."""
    learnt = lessons(before, now, TABLE, FACTS)
    solution = heeding(solve(now, TABLE, FACTS, leans=given_up_leans(before)), learnt)
    return with_lessons(taken_back(before, learnt, now, TABLE, FACTS) or plan_round(solution, (), now, TABLE, FACTS), learnt)


@pytest.fixture
def tips(measure):
    return lambda mm, **others: [measure(key, mm) for key in TIPS] + [measure(key, value) for key, value in others.items()]


def test_a_first_fitting_has_no_last_round(tips):
    assert lessons(None, tips(11), TABLE, FACTS) == ()
    assert with_lessons(Round((), "Nothing."), ()) == Round((), "Nothing.")


def test_what_worked_is_said_and_nothing_is_asked_for(tips):
    found = second(last(tips(10)), tips(0))
    assert found.last_round == ("The forward shoulder alteration ({mm:10.0}) did what it should.",)
    assert not found.steps


def test_what_does_not_show_is_not_repeated_larger(tips):
    """The seam still lies as it did and a little worse: what is asked for now is no more than what was asked for then."""
    found = second(last(tips(12), made_mm=10), tips(14))
    (step,) = found.steps
    assert (step.amount.id, step.cut_mm) == ("forward_shoulder", 10)
    assert step.caution.startswith("Last round's forward shoulder ({mm:10.0}) hardly shows. Check first whether it was made in full")
    assert "do not make it again" in step.caution
    assert all(e.after == pytest.approx(14 - 9.4) for e in step.expect if e.measurement in TIPS)


def test_what_shows_in_part_asks_for_what_is_left(tips):
    found = second(last(tips(20), made_mm=20), tips(10))
    (step,) = found.steps
    assert step.cut_mm == 10
    assert "shows in part" in step.caution


def test_what_was_made_the_wrong_way_round_is_told_apart_from_what_is_lacking(tips):
    """10 mm were lacking, 10 were taken the wrong way: 20 now, half of which takes the mistake back."""
    found = second(last(tips(10)), tips(20))
    (step,) = found.steps
    assert step.cut_mm == pytest.approx(20, abs=2.5)
    assert "wrong way round: {mm:10.0} of this takes it back" in step.caution


def test_what_went_too_far_is_taken_back_in_part(tips):
    found = second(last(tips(10)), tips(-9))
    (step,) = found.steps
    assert step.amount.amount_mm < 0
    assert "went further than needed" in step.caution


def test_a_round_that_made_the_fit_worse_is_taken_back(tips):
    """The seam came forward as foretold, but the bust mark and the waist went far out: the round as a whole did harm."""
    names = ("bust_mark_above_L", "bust_mark_above_R", "waist_mark_above_front")
    before = last(tips(6, **dict.fromkeys(names, 0.0)), made_mm=5)
    found = second(before, tips(1, **dict.fromkeys(names, 25.0)))
    (step,) = found.steps
    assert (step.amount.id, step.cut_mm, step.name) == ("forward_shoulder", -5, "take back forward shoulder")
    assert step.steps[0].startswith("Take last round's change out again")
    assert [(e.before, e.after) for e in step.expect] == [(1, 6), (1, 6)]
    assert set(step.evidence_for) == set(names)
    assert found.summary.startswith("Last round's alterations were made, and the fit became worse. Take them back")


def test_what_is_worse_but_was_not_made_is_no_reason_to_take_it_back(tips):
    names = ("bust_mark_above_L", "bust_mark_above_R")
    found = second(last(tips(12, **dict.fromkeys(names, 0.0))), tips(12, **dict.fromkeys(names, 25.0)))
    assert not any(step.name.startswith("take back") for step in found.steps)


def test_what_is_worse_by_less_than_its_doubt_is_not_taken_back(measure):
    def read(tip: float, bust: float) -> list[Measurement]:
        return [measure(key, tip) for key in TIPS] + [measure(f"bust_mark_above_{side}", bust, 8.0) for side in "LR"]

    before = last(read(12, 8.0))
    assert taken_back(before, lessons(before, read(2, 14.0), TABLE, FACTS), read(2, 14.0), TABLE, FACTS) is None


def test_what_was_taken_back_is_less_probable(tips):
    """The same readings, once, and with the alteration tried before: its probability falls by about 3 nats or less than twentyfold."""
    once, tried = (
        solve(tips(7), TABLE, FACTS, leans=given_up_leans(one)).probabilities["forward_shoulder"]
        for one in (None, last(tips(7), given_up=("forward_shoulder",)))
    )
    odds = [p / (1 - p) for p in (once, tried)]
    assert all(a > 5 * b for a, b in pairwise(odds))


def test_an_alteration_the_tables_no_longer_know_is_passed_over(tips):
    unknown = LastRound(3, tuple(tips(10)), (Advised(Amount("no_such_thing", "both", 10.0, 1.0)),))
    assert lessons(unknown, tips(10), TABLE, FACTS) == ()
