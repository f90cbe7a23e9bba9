"""A fitting goes in whole or not at all, and is read back as it was; notes and tape beside it."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from diary.conftest import fit_check, measurement, new_fitting, step
from PIL import Image

from fitcheck.core.errors import DiaryError
from fitcheck.diary.reading import notes, read_fitting, tapes
from fitcheck.diary.recording import add_note, add_tape, record
from fitcheck.report.result import to_json


def test_what_is_recorded_is_read_back(diary):
    check = fit_check(placed=True, maker="Atelier")
    number = record(diary, new_fitting(check, day=date(2026, 4, 2)))
    fitting = read_fitting(diary, number)
    assert (fitting.entry.wearer, fitting.entry.garment, fitting.entry.maker, fitting.entry.day) == (
        "Anna",
        "bodice",
        "Atelier",
        date(2026, 4, 2),
    )
    (m,) = fitting.measurements
    assert (m.key, m.value, m.sd, m.sources) == ("shoulder_seam_behind_tip_R", 10.2, 1.0, {"pixel": 1.0})
    assert m.to_px == pytest.approx([25.1, 30.0])
    assert fitting.round[0].amount == check.round.steps[0].amount
    assert fitting.round[0].expect == check.round.steps[0].expect
    assert fitting.posture == check.posture
    assert fitting.positions_mm["shoulder_point", "wearer_left"] == pytest.approx([160, 1360, 0])
    assert diary.rows("SELECT view, name, x_px FROM placed ORDER BY view") == [
        ("front", "shoulder_point", 20.0),
        ("right", "shoulder_point", 20.0),
    ]
    kept = json.loads(diary.rows("SELECT data FROM result")[0][0])
    assert kept == json.loads(json.dumps(to_json(check)))


def test_an_amount_is_kept_as_it_was_told_to_be_cut(diary):
    check = fit_check(steps=(replace(step(10.4, ("shoulder_seam_behind_tip_R", 10.2, 0.2)), cut_mm=9.0),))
    number = record(diary, new_fitting(check))
    assert read_fitting(diary, number).round[0].amount == replace(check.round.steps[0].amount, amount_mm=9.0)


def test_copies_have_the_same_pixels_and_no_metadata(diary):
    number = record(diary, new_fitting(fit_check()))
    for photo in read_fitting(diary, number).photos:
        with Image.open(photo.file) as image:
            assert not image.getexif()
            assert image.size == photo.size_px
            assert abs(np.asarray(image)[40, 30].astype(int) - 90).max() <= 3
        assert b"Secret" not in Path(photo.file).read_bytes()


def test_the_same_photos_replace_their_earlier_result_and_keep_number_and_notes(diary):
    number = record(diary, new_fitting(fit_check()))
    add_note(diary, "hem crooked", fitting=number)
    assert record(diary, new_fitting(fit_check(measurements=(measurement(7.0),)))) == number
    assert [m.value for m in read_fitting(diary, number).measurements] == [7.0]
    assert diary.entry(number).notes == 1
    with diary.writing():
        pass  # the next writing removes the replaced copies
    assert len(list((diary.folder / "photos").iterdir())) == 1


def test_references_copy_nothing(diary, tmp_path):
    sources = {"front": tmp_path / "front.jpg", "right": tmp_path / "right.jpg"}
    number = record(diary, new_fitting(fit_check(), sources=sources, keep="reference"))
    assert {p.file for p in read_fitting(diary, number).photos} == {str(p) for p in sources.values()}
    assert not (diary.folder / "photos").exists()


def test_tape_and_notes(diary):
    record(diary, new_fitting(fit_check(tape={"bust": 92, "unit": "cm"}), day=date(2026, 4, 2)))
    add_tape(diary, "anna", "bust", 930.0, date(2026, 5, 1))
    add_tape(diary, "anna", "waist", 720.0, date(2026, 5, 1))
    assert tapes(diary, "Anna") == [("bust", 930.0, date(2026, 5, 1)), ("waist", 720.0, date(2026, 5, 1))]
    add_note(diary, "loose waist", wearer="Anna", day=date(2026, 5, 2))
    assert notes(diary, "Anna") == [(date(2026, 5, 2), "loose waist")]


def test_a_failed_recording_leaves_nothing(diary, monkeypatch):
    record(diary, new_fitting(fit_check(1)))
    monkeypatch.setattr("fitcheck.diary.recording._found", lambda *_: (_ for _ in ()).throw(OSError(5, "broken")))
    with pytest.raises(DiaryError, match="broken"):
        record(diary, new_fitting(fit_check(2), "Berta"))
    assert diary.wearers() == ["Anna"]
    with diary.writing():
        pass
    assert len(list((diary.folder / "photos").iterdir())) == 1
