"""What the numbers mean for the pattern."""

from dataclasses import replace

import pytest

from fitcheck.core.diary import Advised as Recorded
from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.last_round import LastRound
from fitcheck.stages.advise import advise


def test_the_shoulder_of_the_sample_comes_after_its_balance(staged):
    assert [step.amount.id for step in staged.advised.round.steps] == ["rounded_erect_upper_back", "forward_shoulder"]
    assert staged.advised.round.steps[0].diagram_svg == ""  # drawn for a report alone


def test_what_was_measured_by_hand_is_heard(staged):
    told = advise(staged.measured, FittingFacts(observed={"sleeve_tight_R": 12.0}))
    assert ("sleeve_tight_R", 12.0) in {(m.key, m.value) for m in told.measurements}


def test_nothing_measured_and_nothing_marked_is_no_fitting(staged):
    with pytest.raises(NothingMeasuredError, match="No seam lines and no stickers"):
        advise(replace(staged.measured, measurements=(), fold_groups=(), marked=False), FittingFacts())


def test_the_same_photos_after_a_round_say_that_it_hardly_shows(staged):
    """She comes back without having altered anything: what was foretold did not happen, and nothing is asked for in a larger amount."""
    steps = staged.advised.round.steps
    before = LastRound(1, staged.advised.measurements, tuple(Recorded(step.amount, step.expect) for step in steps))
    again = advise(staged.measured, FittingFacts(), before).round
    assert len(again.last_round) == len(steps)
    assert any("hardly shows" in said for said in again.last_round)
    assert [abs(s.cut_mm) <= abs(first.cut_mm) for s, first in zip(again.steps, steps, strict=True)] == [True, True]
    assert any("Check first whether it was made in full" in step.caution for step in again.steps)


def test_a_printed_cloth_that_hides_the_lines_is_told_of(staged):
    nothing = replace(staged.measured, measurements=(), fold_groups=(), marked=False, lines_unseen=True)
    with pytest.raises(NothingMeasuredError, match="pattern of its own") as error:
        advise(nothing, FittingFacts())
    assert "tape" in error.value.next_step
