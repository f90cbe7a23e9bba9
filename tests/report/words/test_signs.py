"""What the report says of a number above and below zero, against what the measurement itself says it means."""

import pytest
from advice.directions import agree

from fitcheck.advice.table import knowledge
from fitcheck.core.records import Measurement
from fitcheck.report.words.sentences import by_group, measurement_says

SAID = list(knowledge().places.values())


@pytest.mark.parametrize(("observable", "at"), SAID)
def test_what_is_measured_stands_under_a_heading_of_its_own(observable, at) -> None:
    assert by_group([Measurement(observable.id, at, None, None, 10.0, observable.unit, 1.0, {})])[0][0] != "Other"


@pytest.mark.parametrize(("observable", "at"), SAID)
def test_the_report_says_what_the_measurement_means(observable, at) -> None:
    more, less = (measurement_says(Measurement(observable.id, at, None, None, v, observable.unit, 1.0, {}), "cm") for v in (10.0, -10.0))
    assert agree(more, observable.plus) == 1
    assert agree(less, observable.plus) == -1
