"""Which round is the last one, of a small diary."""

from datetime import date

from diary.conftest import fit_check, measurement, new_fitting, step

from fitcheck.diary.earlier import last_round
from fitcheck.diary.recording import record

KEY = "shoulder_seam_behind_tip_R"


def put(diary, seed, day, amount_mm=10.0, **options):
    check = fit_check(seed, (measurement(10.0),), (step(amount_mm, (KEY, 10.0, 10.0 - amount_mm)),))
    return record(diary, new_fitting(check, day=date(2026, 4, day), **options))


def test_the_latest_fitting_of_the_same_garment(diary):
    put(diary, 1, 2)
    second = put(diary, 2, 9)
    put(diary, 3, 12, garment="skirt")
    put(diary, 4, 13, wearer="Berta")
    found = last_round(diary, "anna", "Bodice")
    assert found.fitting == second
    assert [(s.amount.id, s.amount.amount_mm) for s in found.steps] == [("forward_shoulder", 10.0)]
    assert [(m.key, m.value) for m in found.measurements] == [(KEY, 10.0)]
    assert found.given_up == ()
    assert found == last_round(diary, "Anna", "bodice")  # plain values, that a case can be compared by


def test_none_before_the_first(diary):
    number = put(diary, 1, 9)
    assert last_round(diary, "Anna", "coat") is None
    assert last_round(diary, "Nobody", "bodice") is None
    assert last_round(diary, "Anna", "bodice", date(2026, 4, 2)) is None
    assert last_round(diary, "Anna", "bodice", without=number) is None


def test_a_repeat_of_a_day_is_no_round(diary):
    first = put(diary, 1, 2)
    put(diary, 2, 2, retake=True)
    assert last_round(diary, "Anna", "bodice").fitting == first


def test_what_one_round_made_and_the_next_took_back_is_given_up(diary):
    put(diary, 1, 2, 9.2)
    put(diary, 2, 9, -10.0)
    assert last_round(diary, "Anna", "bodice").given_up == ("forward_shoulder",)
    put(diary, 3, 16, 6.0)
    assert last_round(diary, "Anna", "bodice").given_up == ("forward_shoulder",)  # still known later


def test_a_correction_of_another_size_is_not_given_up(diary):
    put(diary, 1, 2, 10.0)
    put(diary, 2, 9, -4.0)
    assert last_round(diary, "Anna", "bodice").given_up == ()
