"""What the report says of a number above and below zero, against what the measurement itself says it means."""

import pytest
from advice.directions import agree

from fitcheck.advice.table import knowledge
from fitcheck.core.records import Measurement
from fitcheck.report.words.sentences import by_group, measurement_says

SAID = [
    (observable, at)
    for observable, at in knowledge().places.values()
    if by_group([Measurement(observable.id, at, None, None, 10.0, observable.unit, 1.0, {})])[0][0] != "Other"
]


def test_what_photos_tell_has_words() -> None:
    told = {observable.id for observable in knowledge().observables.values() if not observable.by_hand}
    assert told <= {observable.id for observable, _ in SAID}


@pytest.mark.parametrize(("observable", "at"), SAID)
def test_the_report_says_what_the_measurement_means(observable, at) -> None:
    more, less = (measurement_says(Measurement(observable.id, at, None, None, v, observable.unit, 1.0, {}), "cm") for v in (10.0, -10.0))
    assert agree(more, observable.plus) == 1
    assert agree(less, observable.plus) == -1
