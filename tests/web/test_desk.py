"""What is asked of the reading process, answered in this one; the fitting is a shoulder seam 10 mm behind, seen from her right."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from fitcheck import pipeline
from fitcheck.body.placed import PlacedFile
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.progress import unheard
from fitcheck.diary.reading import read_fitting
from fitcheck.diary.store import Diary
from fitcheck.web.desk import WARM, Desk

TIP = "shoulder_seam_behind_tip_R"


def number(marks, key: str = TIP) -> float:
    return next(one["value"] for one in marks["numbers"] if one["key"] == key)


def tip(marks) -> dict[str, object]:
    """The tip of her right shoulder, as it could be put elsewhere."""
    found = next(p for p in marks["photos"][0]["points"] if (p["name"], p["side"]) == ("shoulder_point", "wearer_right"))
    return {"name": found["name"], "side": found["side"], "view": "right", "xy": found["xy"]}


def test_a_check_says_what_was_seen(desk, case):
    assert desk.check(case) == ("right",)
    assert number(desk.marks(case, "cm")) == pytest.approx(10, abs=2)


def test_nothing_is_done_anew_where_nothing_changed(desk, case, monkeypatch):
    before = desk.marks(case, "cm")
    monkeypatch.setattr(pipeline, "check_fit", lambda *given: pytest.fail("checked again"))
    assert desk.marks(case, "cm") == before
    assert desk.marks(case, "in")["unit"] == "in"


def test_a_point_put_elsewhere_is_another_result_and_a_trial_foretells_it(desk, case):
    """Her shoulder point 12 pixels further forward: the seam lies further behind it. Taken back, all is as it was."""
    before = desk.marks(case, "cm")
    x, y = tip(before)["xy"]
    placed = PlacedFile.model_validate({"point": [tip(before) | {"xy": [x + 12, y]}]})
    (as_it_is, foretold) = desk.tried(case, [PlacedFile(), placed])
    assert as_it_is[TIP] == pytest.approx(number(before), abs=0.01)
    after = number(desk.marks(replace(case, placed=placed), "cm"))
    assert after > number(before) + 3
    assert foretold[TIP] == pytest.approx(after, abs=0.5)
    assert desk.marks(case, "cm") == before


def test_the_answer_leads_to_its_own_fitting(desk, case):
    made = desk.answer(case, "cm")
    assert 'href="/fitting/sample/right?view=right"' in made
    assert 'href="/fitting/sample/sheet/1/small.pdf"' in made
    assert "Forward shoulder" in made
    assert "<html" not in made


def test_the_report_stands_alone(desk, case):
    made = desk.report(case, "cm")
    assert made.startswith("<!DOCTYPE html>")
    assert "/fitting/" not in made
    assert "default-src 'none'" in made


def test_steps_are_drawn_in_her_units(desk, case):
    assert re.search(r"Forward shoulder</strong>.*: 1\.0\W+cm", desk.steps(case, "cm"))
    assert re.search(r"Forward shoulder</strong>.*: 3/8\W+in", desk.steps(case, "in"))


def test_a_photo_as_its_points_were_read_in_it(desk, case):
    shown = Image.open(io.BytesIO(desk.upright(case, "right")))
    original = Image.open(case.photos[0].path)
    assert shown.size == original.size
    away = np.asarray(shown.convert("L"), float) - np.asarray(original.convert("L"), float)
    assert np.abs(away).mean() < 3
    assert desk.upright(case, "back") is None


def test_a_sheet_of_a_step(desk, case, tmp_path):
    assert desk.sheet(case, 1, False, "a4", "cm", tmp_path / "a.pdf") == "forward_shoulder"
    assert "1.0 cm" in PdfReader(tmp_path / "a.pdf").pages[0].extract_text()
    for none in (0, 9):
        assert desk.sheet(case, none, False, "a4", "cm", tmp_path / "b.pdf") is None
    assert not (tmp_path / "b.pdf").exists()


def test_recorded_as_it_is_told_now(desk, case, tmp_path):
    facts = FittingFacts(wearer="Anna", garment="bodice")
    assert desk.record(case, facts, tmp_path / "diary", retake=False) == 1
    with Diary(tmp_path / "diary") as diary:
        kept = read_fitting(diary, 1)
    assert (kept.entry.wearer, kept.entry.garment) == ("Anna", "bodice")
    assert [photo.view for photo in kept.photos] == ["right"]
    assert next(m.value for m in kept.measurements if m.key == TIP) == pytest.approx(10, abs=2)
    with pytest.raises(UsageError):
        desk.record(case, FittingFacts(garment="bodice"), tmp_path / "diary", retake=False)


def test_it_holds_a_few_fittings_only_those_used_last(case):
    desk = Desk(unheard)
    for name in ("a", "b", "a", "c"):
        desk._of(replace(case, id=name))
    assert WARM == 2
    assert list(desk._held) == ["a", "c"]
    desk.forget("a")
    desk.forget("never there")
    assert list(desk._held) == ["c"]
