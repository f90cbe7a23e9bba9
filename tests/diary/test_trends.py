"""Changes of posture are claimed when they are there, and not when they are not."""

from datetime import date

import numpy as np
import pytest
from diary.conftest import fit_check, new_fitting, step
from diary.simulated import PHOTO_SD, simulate

from fitcheck.core.check import PostureValue
from fitcheck.diary import recording
from fitcheck.diary.statistics import mdc95
from fitcheck.diary.trends import find_trends, posture_diary, posture_table

KINDS = ("drift", "step", "last")


def record(
    diary, day: date, value: float, sd: float = 1.0, garment: str = "bodice", amount: float | None = None, **options: object
) -> None:
    steps = () if amount is None else (step(amount),)
    extra = options.pop("extra", ())
    posture = (PostureValue("shoulder_forward", "wearer_right", value, "mm", sd), *extra)
    recording.record(
        diary,
        new_fitting(fit_check((day, value, options.get("retake")), steps=steps, posture=posture), garment=garment, day=day, **options),
    )


def test_sixty_diaries_without_a_change():
    """At most one in twenty claims any change at all in any of its nine numbers."""
    rng = np.random.default_rng(11)
    claims = sum(any(t.claim for t in simulate(rng, days=4 + k % 7, repeats=k % 3)) for k in range(60))
    assert claims <= 3


def test_sixty_diaries_with_a_change_of_twice_the_smallest_detectable():
    rng = np.random.default_rng(12)
    keys = list(PHOTO_SD)
    found = 0
    for k in range(60):
        changed = keys[k % len(keys)]
        found += any(t.claim and t.id == changed for t in simulate(rng, 6 + k % 5, changed, 2.0, KINDS[k % 3], k % 3))
    assert found >= 54


def test_a_change_below_the_smallest_detectable_is_not_claimed(diary):
    """Nothing under MDC95 is claimed, however many days tell of it."""
    for month in range(1, 13):
        record(diary, date(2025, month, 1), 40 + 0.5 * month, sd=1.0)
    (trend,) = find_trends([(e, v) for e, v in _rows(diary)])
    assert trend.mdc95 == pytest.approx(mdc95(np.hypot(1.0, posture_table()["shoulder_forward"]["natural_sd"])))
    assert trend.slope_per_year == pytest.approx(6, rel=0.02)
    assert trend.claim == ""


def test_own_repeats_make_it_finer(diary):
    for k, value in enumerate((40.0, 40.2, 39.9)):
        record(diary, date(2025, 3, 1), value, sd=6.0, retake=k > 0)
    record(diary, date(2025, 9, 1), 41.0, sd=6.0)
    (trend,) = find_trends(_rows(diary))
    assert [day.repeats for day in trend.days] == [3, 1]
    assert trend.days[0].value == pytest.approx(40.033, abs=0.001)
    assert trend.retakes == 2
    own = np.sqrt((10 * 36 + 2 * np.var([40.0, 40.2, 39.9], ddof=1)) / 12)
    assert trend.sem == pytest.approx(np.hypot(own, 4.0))


def test_the_amount_of_spring_no_longer_holds(diary):
    for year, month, value in ((2025, 4, 40.0), (2025, 10, 41.0), (2026, 4, 60.0), (2026, 10, 61.0)):
        record(diary, date(year, month, 2), value, garment=f"coat {year}", amount=10.0)
    found = posture_diary(diary, "anna", {})
    assert "shoulder further forward" in found.verdict
    said = [one.says for one in found.outdated]
    assert any(text.startswith("The forward shoulder amount of October 2025 ({mm:10.0}, coat 2025) is now about {mm:") for text in said)
    assert all("too small" in text for text in said)
    named = posture_diary(diary, "Anna", {("forward_shoulder", True): "shoulders forward"}).outdated
    assert named[0].says.startswith("The shoulders forward amount of ")


def test_height_loss_asks_for_a_doctor_and_bust_span_never_counts(diary):
    for k, height in enumerate((1650.0, 1649.0, 1600.0)):
        extra = (PostureValue("stature", None, height, "mm", 2.0), PostureValue("bust_span", None, 150.0 + 40 * k, "mm", 1.0))
        record(diary, date(2025, 1 + k, 1), 40.0, extra=extra)
    found = posture_diary(diary, "Anna", {})
    assert "shorter by" in found.verdict
    assert any("see a doctor" in text for text in found.cautions)
    assert {t.id for t in found.trends if t.claim} == {"stature"}


def test_one_day_only(diary):
    record(diary, date(2025, 3, 1), 40.0)
    assert "of one day" in posture_diary(diary, "Anna", {}).verdict


def test_every_block_has_words_and_source():
    for id, row in posture_table().items():
        assert {"name", "more", "less", "natural_sd", "source"} <= row.keys(), id


def _rows(diary):
    from fitcheck.diary.reading import posture_rows

    return posture_rows(diary, "Anna")
