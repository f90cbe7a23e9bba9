"""What became of each measurement, worked by hand."""

from datetime import date

import pytest
from diary.conftest import fit_check, measurement, new_fitting, step

from fitcheck.core.diary import Target
from fitcheck.diary.compare import compare
from fitcheck.diary.reading import read_fitting
from fitcheck.diary.recording import record

KEY = "shoulder_seam_behind_tip_R"
TARGET = {KEY: Target(0.0, 3.0, 1.0)}


def two(diary, before: float, after: float, sd: float = 1.0, target: Target = TARGET[KEY], **second: object):
    one = fit_check(1, (measurement(before, sd),), (step(10.0, (KEY, before, before - 10)),))
    other = fit_check(2, (measurement(after, sd),), ())
    first = record(diary, new_fitting(one, day=date(2026, 4, 2)))
    last = record(diary, new_fitting(other, **{"day": date(2026, 4, 9)} | second))
    return compare(read_fitting(diary, first), read_fitting(diary, last), {KEY: target}, {("forward_shoulder", True): "forward shoulder"})


@pytest.mark.parametrize(
    ("before", "after", "status"),
    [
        (10.0, 0.5, "solved"),
        (10.0, -2.0, "solved"),  # past nought, yet within tolerance
        (20.0, 8.0, "improved"),
        (10.0, 9.0, "unchanged"),  # 1 mm is less than 1.96 * sqrt(2)
        (4.5, 2.5, "unchanged"),  # within tolerance now, but not for certain
        (10.0, -9.0, "unchanged"),  # as far off on the other side
        (4.0, 12.0, "worse"),
        (0.0, 12.0, "worse"),
        (1.0, -1.0, "in order"),
    ],
)
def test_status(diary, before, after, status):
    (change,) = two(diary, before, after).changes
    assert change.status == status


def test_change_and_prediction_carry_their_uncertainty(diary):
    (change,) = two(diary, 10.0, 0.4).changes
    assert change.sd == pytest.approx(2**0.5)
    assert change.changed
    assert change.predicted == 0.0
    assert change.as_predicted
    assert not two(diary, 10.0, 7.0).changes[0].as_predicted  # 7 mm off what was foretold, allowed 1.96 * sqrt(3)
    assert not two(diary, 10.0, 7.5).changes[0].changed


def test_with_large_uncertainty_nothing_is_claimed(diary):
    (change,) = two(diary, 10.0, 0.0, sd=6.0).changes
    assert not change.changed
    assert change.status == "unchanged"


def test_a_measure_of_the_body_is_not_judged(diary):
    assert two(diary, 10.0, 0.0, target=Target(0.0, 3.0, 1.0, of_body=True)).changes[0].status is None


def test_share_of_an_alteration_and_its_words(diary):
    whole = two(diary, 10.0, 0.0)
    assert whole.outcomes[0].share == pytest.approx(1.0)
    assert whole.outcomes[0].share_sd == pytest.approx(3**0.5 / 10)
    assert "did what it should" in whole.outcomes[0].says
    assert whole.verdict.startswith("Of 1 measurements that were or are out of place: 1 solved.")
    assert "part of what it should: about {mm:5.0}" in two(diary, 10.0, 5.0).outcomes[0].says
    assert "hardly shows" in two(diary, 10.0, 9.0).outcomes[0].says
    assert "wrong way round" in two(diary, 10.0, 20.0).outcomes[0].says
    assert "more than it should" in two(diary, 10.0, -8.0).outcomes[0].says
    assert "cannot be judged" in two(diary, 10.0, 0.0, sd=5.0).outcomes[0].says


def test_cautions(diary):
    assert two(diary, 10.0, 0.0).cautions == ()
    assert "two garments" in two(diary, 10.0, 0.0, garment="coat").cautions[0]
    assert "two wearers" in two(diary, 10.0, 0.0, wearer="Berta").cautions[0]
    assert "older" in two(diary, 10.0, 0.0, day=date(2025, 1, 1)).cautions[0]


def test_what_was_measured_once_only(diary):
    first = record(diary, new_fitting(fit_check(1)))
    second = record(diary, new_fitting(fit_check(2, (measurement(1.0, side="wearer_left"),), ())))
    found = compare(read_fitting(diary, first), read_fitting(diary, second), TARGET, {})
    assert [m.key for m in found.only_before] == [KEY]
    assert [m.side for m in found.only_after] == ["wearer_left"]
    assert "cannot be compared" in found.verdict
    assert found.outcomes[0].share is None
