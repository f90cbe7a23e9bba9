"""How much of what was foretold came about, worked by hand."""

import pytest

from fitcheck.core.advice import Expectation
from fitcheck.core.outcome import Share, outcome_says, share_of
from fitcheck.core.records import Measurement


def read(**values: float) -> dict[str, Measurement]:
    return {key: Measurement(key, "", None, None, value, "mm", 1.0, {}) for key, value in values.items()}


def no_straying(key: str) -> float:
    return 0.0


def test_two_readings_count_by_what_was_foretold_of_each():
    """Foretold: a 10 nearer, b 5. Came: a 10, b nothing. Least squares: (10*10 + 5*0) / (100 + 25)."""
    expected = [Expectation("a", 10, 0), Expectation("b", 5, 0)]
    found = share_of(expected, read(a=10, b=5), read(a=0, b=5), no_straying)
    assert found == pytest.approx((100 / 125, (2 / 125) ** 0.5))


def test_cloth_that_strays_makes_it_less_sure():
    found = share_of([Expectation("a", 10, 0)], read(a=10), read(a=0), lambda key: 7.0**0.5)
    assert found is not None
    assert found.sd == pytest.approx(0.3)  # 1 + 1 + 7 = 3 squared, of 10 mm


def test_nothing_measured_twice_tells_nothing():
    assert share_of([Expectation("a", 10, 0)], read(a=10), read(b=0), no_straying) is None
    assert "cannot be told" in outcome_says("forward shoulder", 10, None)


@pytest.mark.parametrize(
    ("share", "sd", "judged"),
    [
        (1.0, 0.1, "done"),
        (0.75, 0.1, "done"),
        (1.4, 0.1, "more"),
        (1.1, 0.1, "done"),  # more, but not for certain
        (0.5, 0.1, "part"),
        (0.1, 0.1, "hardly"),
        (-0.1, 0.1, "hardly"),
        (-0.9, 0.1, "wrong way"),
        (1.0, 0.4, "untold"),
    ],
)
def test_what_can_be_said(share, sd, judged):
    assert Share(share, sd).judged == judged
