"""What readings share of their errors, worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from fitcheck.advice.equation import equation
from fitcheck.advice.noise import measuring_noise, straying_noise
from fitcheck.advice.rows import Knowledge
from fitcheck.core.fitting import FittingFacts


def test_errors_of_measuring_are_as_alike_as_the_measurements_say(table: Knowledge, measure) -> None:
    """Sd 4 each and a correlation of 0.5: a covariance of 8 of measuring, and nothing beside it where nothing strays alike."""
    left, right = (measure(key, 9.0, 4.0) for key in ("bust_mark_above_L", "waist_mark_above_front"))
    told = [replace(left, alike={left.key: 1.0, right.key: 0.5}), replace(right, alike={left.key: 0.5, right.key: 1.0})]
    fit = equation(told, table, FittingFacts())
    assert fit.measuring == pytest.approx(np.array([[16.0, 8.0], [8.0, 16.0]]))
    assert fit.noise - fit.measuring == pytest.approx(np.diag(fit.straying**2))
    assert equation([left, right], table, FittingFacts()).measuring[0, 1] == 0.0


def test_nothing_is_measured_without_doubt_and_cloth_strays_whatever_the_doubt(table: Knowledge, measure) -> None:
    told = [measure("bust_mark_above_L", 0.0, 0.0)]
    observables = [table.observables["bust_mark_above"]]
    assert measuring_noise(observables, told) == pytest.approx(np.array([[0.05**2]]))
    assert straying_noise(observables, told) == pytest.approx(np.array([[table.observables["bust_mark_above"].straying("") ** 2]]))
