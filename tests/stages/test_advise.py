"""What the numbers mean for the pattern."""

from dataclasses import replace

import pytest

from fitcheck.core.errors import NothingMeasuredError
from fitcheck.core.fitting import FittingFacts
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
