"""What the diary's commands do, without a terminal: who must be told, which rounds are compared, and what comes of it."""

from datetime import date
from pathlib import Path

import pytest
from diary.conftest import fit_check, measurement, new_fitting, step

from fitcheck.core.check import PostureValue
from fitcheck.core.errors import DiaryError, UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.diary.reading import read_fitting
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary
from fitcheck.diary_commands import compare_rounds, diary_folder, recorder, wearer_posture, wearer_profile

KEY = "shoulder_seam_behind_tip_R"
TOLD = {"wearer": "Anna", "garment": "bodice"}


@pytest.fixture
def diary(tmp_path: Path):
    with Diary(tmp_path / "diary", create=True) as held:
        yield held


def facts(**told: str) -> FittingFacts:
    return FittingFacts.model_validate(told)


@pytest.mark.parametrize(
    ("told", "missing"),
    [
        ({}, "whose fitting and which garment"),
        ({"garment": "bodice"}, "whose fitting"),
        ({"wearer": "Anna", "garment": " \n"}, "which garment"),
    ],
)
def test_a_diary_has_to_know_whose_fitting_it_is(tmp_path, told, missing):
    with pytest.raises(UsageError, match=f"needs to know {missing} this is"):
        recorder(str(tmp_path / "diary"), facts(**told))
    assert not (tmp_path / "diary").exists()


def test_a_day_that_is_none_is_said_before_anything_is_made(tmp_path):
    with pytest.raises(UsageError, match=r"2026-02-30 is no day of a fitting.*2026-04-02"):
        recorder(str(tmp_path / "diary"), facts(**TOLD, date="2026-02-30"))
    assert not (tmp_path / "diary").exists()


def test_what_the_recorder_was_told_is_recorded(tmp_path):
    ready = recorder(str(tmp_path / "diary"), facts(**TOLD, date="2026-04-02"), "reference", retake=True)
    sources = {view: tmp_path / f"{view}.jpg" for view in ("front", "right")}
    number = ready.record(fit_check(), sources)
    with Diary(tmp_path / "diary") as diary:
        fitting = read_fitting(diary, number)
    assert (fitting.entry.wearer, fitting.entry.garment, fitting.entry.day, fitting.entry.retake) == (
        *TOLD.values(),
        date(2026, 4, 2),
        True,
    )
    assert {photo.kept for photo in fitting.photos} == {"reference"}


def test_the_usual_folder_unless_another_is_named(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert diary_folder("") == diary_folder(None) == tmp_path / "fitcheck" / "diary"
    assert diary_folder("elsewhere") == Path("elsewhere")


def fitted(diary: Diary, seed: int, value: float, day: int, garment: str = "bodice", **how: object) -> int:
    posture = (PostureValue("shoulder_forward", "wearer_right", 45.0, "mm", 2.0),)
    steps = (step(10.0, (KEY, value, value - 10.0)),) if value > 3 else ()
    check = fit_check(seed, (measurement(value),), steps, posture)
    return record(diary, new_fitting(check, garment=garment, day=date(2026, 4, day), **how))


def test_compared_are_the_last_two_rounds_of_the_garment_fitted_last(diary, tmp_path):
    first = fitted(diary, 1, 10.0, 1)
    fitted(diary, 2, 7.0, 2, "coat")
    last = fitted(diary, 3, 0.5, 3)
    fitted(diary, 4, 0.5, 3, retake=True)
    comparison, missing = compare_rounds(diary, None, None, "cm", tmp_path / "page.html")
    assert (comparison.before.entry.number, comparison.after.entry.number) == (first, last)
    assert [change.status for change in comparison.changes] == ["solved"]
    assert missing == 0
    assert "forward shoulder" in (tmp_path / "page.html").read_text("utf-8")


def test_photos_that_are_gone_are_counted(diary, tmp_path):
    fitted(diary, 1, 10.0, 1)
    fitted(diary, 2, 0.5, 2)
    for photo in list((diary.folder / "photos").rglob("front.jpg")):
        photo.unlink()
    assert compare_rounds(diary, None, None, "cm", tmp_path / "page.html")[1] == 2


def test_one_fitting_cannot_be_compared(diary, tmp_path):
    number = fitted(diary, 1, 10.0, 1)
    with pytest.raises(DiaryError, match="no earlier round"):
        compare_rounds(diary, None, None, "cm", tmp_path / "page.html")
    with pytest.raises(UsageError, match="One fitting cannot be compared"):
        compare_rounds(diary, number, None, "cm", tmp_path / "page.html")
    assert list(tmp_path.glob("*.html")) == []


def test_her_profile_and_her_posture_are_written_where_they_should_be(diary, tmp_path):
    fitted(diary, 1, 10.0, 1)
    fitted(diary, 2, 0.5, 2)
    learnt = wearer_profile(diary, "anna", None, "cm", tmp_path / "profile.html")
    assert learnt.garments == ("bodice",)
    assert "Anna" in (tmp_path / "profile.html").read_text("utf-8")
    assert wearer_posture(diary, "anna", "cm", tmp_path / "posture.html").wearer == "Anna"
    assert "no medical device" in (tmp_path / "posture.html").read_text("utf-8")


def test_a_recorder_knows_the_round_before(tmp_path, diary):
    number = record(diary, new_fitting(fit_check(1), day=date(2026, 4, 2)))
    place = str(tmp_path / "diary")
    before = recorder(place, facts(**TOLD, date="2026-04-09")).last_round()
    assert before is not None
    assert (before.fitting, [s.amount.id for s in before.steps]) == (number, ["forward_shoulder"])
    assert recorder(place, facts(**TOLD), retake=True).last_round() is None  # a repeat is not the round after it
    assert recorder(place, facts(wearer="Anna", garment="coat")).last_round() is None
    assert recorder(str(tmp_path / "new"), facts(**TOLD)).last_round() is None
