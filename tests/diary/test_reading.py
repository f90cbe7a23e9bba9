"""Fittings read back: each its own rows, the latest tape of each kind, posture by days; and damage that only reading shows."""

from datetime import date
from pathlib import Path

import pytest
from diary.conftest import fit_check, measurement, new_fitting, step

from fitcheck.core.advice import Amount
from fitcheck.core.check import PostureValue
from fitcheck.core.errors import DiaryError
from fitcheck.diary.reading import notes, posture_rows, read_advised, read_fitting, read_photos, read_round, tapes
from fitcheck.diary.recording import add_note, add_tape, record


def forward(value: float) -> tuple[PostureValue, ...]:
    return (PostureValue("shoulder_forward", "wearer_right", value, "mm", 2.0),)


def test_each_fitting_has_its_own_rows(diary):
    later = (Amount("sway_back", "both", 8.0, 4.0, 0.55),)
    first = record(diary, new_fitting(fit_check(1, (measurement(4.0),), later=later, sleeve="none")))
    second = record(diary, new_fitting(fit_check(2, (measurement(-6.0),), steps=(step(12.0, ("bust_mark_above_R", 1.0, -3.0)),))))
    one, other = read_fitting(diary, first), read_fitting(diary, second)
    assert ([m.value for m in one.measurements], [m.value for m in other.measurements]) == ([4.0], [-6.0])
    assert (one.later, other.later) == (later, ())
    assert (one.sleeve, other.sleeve) == ("none", "set_in")
    assert [made.amount.amount_mm for made in read_round(diary, second)] == [12.0]
    assert [(e.measurement, e.before, e.after) for e in read_round(diary, second)[0].expect] == [("bust_mark_above_R", 1.0, -3.0)]
    assert [(amount.id, now) for amount, now in read_advised(diary, first)] == [("forward_shoulder", True), ("sway_back", False)]


def test_photos_copied_lie_in_the_diary_and_referenced_ones_where_they_were(diary, tmp_path):
    copied = record(diary, new_fitting(fit_check(1)))
    sources = {view: tmp_path / f"{view}.png" for view in ("front", "right")}
    referenced = record(diary, new_fitting(fit_check(2), sources=sources, keep="reference"))
    assert all(Path(photo.file).is_file() and diary.folder in Path(photo.file).parents for photo in read_photos(diary, copied))
    assert {photo.view: photo.file for photo in read_photos(diary, referenced)} == {view: str(path) for view, path in sources.items()}
    assert {photo.size_px for photo in read_photos(diary, referenced)} == {(60, 80)}


def test_the_latest_tape_of_each_kind_whatever_the_order_of_writing(diary):
    record(diary, new_fitting(fit_check()))
    for value, day in ((930.0, date(2026, 5, 1)), (910.0, date(2026, 3, 1)), (920.0, date(2026, 4, 1))):
        add_tape(diary, "Anna", "bust", value, day)
    add_tape(diary, "Anna", "waist", 700.0, date(2025, 1, 1))
    assert tapes(diary, "Anna") == [("bust", 930.0, date(2026, 5, 1)), ("waist", 700.0, date(2025, 1, 1))]


def test_notes_about_her_and_her_fittings_by_their_days(diary):
    number = record(diary, new_fitting(fit_check()))
    add_note(diary, "second", fitting=number, day=date(2026, 5, 2))
    add_note(diary, "first", wearer="Anna", day=date(2026, 5, 1))
    add_note(diary, "third", wearer="Anna", day=date(2026, 5, 2))
    assert [text for _, text in notes(diary, "Anna")] == ["first", "second", "third"]


def test_posture_comes_by_days_and_hers_alone(diary):
    for seed, (wearer, day, value) in enumerate((("Anna", 20, 40.0), ("Berta", 15, 99.0), ("Anna", 10, 45.0))):
        record(diary, new_fitting(fit_check(seed, posture=forward(value)), wearer, day=date(2026, 4, day)))
    rows = posture_rows(diary, "anna")
    assert [(entry.day.day, value.value, value.side) for entry, value in rows] == [(10, 45.0, "wearer_right"), (20, 40.0, "wearer_right")]


@pytest.mark.parametrize(
    ("sql", "says"),
    [
        ("DELETE FROM result", "the result of fitting 1 is missing"),
        ("UPDATE result SET data = '{}'", "the result of a fitting is none"),
        ("UPDATE measurement SET to_x_px = 'far'", "the to x px of a measurement is no number"),
        ("UPDATE photo SET width_px = 0", "the width px of a photo"),
        ("UPDATE posture SET unit = 'ell'", "the unit of a posture"),
        ("UPDATE advised SET side = 'left'", "the side of an advised"),
    ],
)
def test_what_is_not_as_it_was_written_is_damage(diary, sql, says):
    number = record(diary, new_fitting(fit_check()))
    diary.connection.execute(sql)
    with pytest.raises(DiaryError, match=f"is damaged .*{says}"):
        read_fitting(diary, number)


def test_no_such_fitting(diary):
    with pytest.raises(DiaryError, match="no fitting number 7"):
        read_fitting(diary, 7)
