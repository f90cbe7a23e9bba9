"""What the diary holds, as pages. In it: Anna's bodice 10.2 mm behind, then 0.4 mm, and Berta's coat."""

import io
import re

import pytest
from PIL import Image

from fitcheck.web.diary_pages import LONGEST_NOTE


def test_a_recorded_fitting_with_what_was_said_then(recorded):
    text = recorded.get("/diary/1").text
    assert "Fitting 1, 1 April 2026" in text
    assert "bodice <span>for Anna</span>" in text
    assert "This round: 1.0 cm." in text
    assert "Forward shoulder</strong>, both sides: 1.0 cm ± 0.3 cm" in text  # 19 times in 20: twice 1.5 mm
    assert "1.0 cm behind the shoulder point" in text
    assert re.findall(r'src="/diary/1/(\w+).jpg\?large"', text) == ["front", "right"]
    assert text.count('class="overlay"') + text.count("<svg") >= 2


def test_the_round_before_is_the_one_of_the_same_garment(recorded):
    assert "/compare/1/2" in recorded.get("/diary/2").text
    assert "/compare/" not in recorded.get("/diary/1").text
    assert "/compare/" not in recorded.get("/diary/3").text


@pytest.mark.parametrize("address", ["/diary/9", "/compare/1/9", "/wearer/9/profile", "/wearer/9/posture", "/diary/9/cover.jpg"])
def test_what_is_not_in_it_is_said(recorded, address):
    answer = recorded.get(address)
    assert 400 <= answer.status < 500
    assert re.search(r"no (such wearer|fitting number 9)|missing or damaged", answer.text)
    assert "fitcheck diary" not in answer.text


def test_its_photos(recorded):
    """The cover is the first there is; a view that was not photographed is none."""
    front, cover, right = (recorded.get(f"/diary/1/{name}.jpg") for name in ("front", "cover", "right"))
    assert front.body == cover.body != right.body
    assert front.headers["content-type"] == "image/jpeg"
    assert Image.open(io.BytesIO(front.body)).size == (60, 80)
    assert recorded.get("/diary/1/back.jpg").status == 404


def test_notes_are_kept_as_they_are_written(recorded):
    assert recorded.post("/diary/1/note", {"text": "lengthen <b>it</b>"}).headers["location"] == "/diary/1#notes"
    assert "<li>lengthen &lt;b&gt;it&lt;/b&gt;</li>" in recorded.get("/diary/1").text
    assert "lengthen" not in recorded.get("/diary/2").text
    recorded.post("/diary/1/note", {"text": "  "})
    recorded.post("/diary/1/note", {"text": "x" * 3 * LONGEST_NOTE})
    notes = re.findall(r"<li>(x*)</li>", recorded.get("/diary/1").text)
    assert [len(note) for note in notes if note] == [LONGEST_NOTE]


def test_two_rounds_compared(recorded):
    """10 mm behind, 0 foretold, 0.4 mm found: solved, as foretold."""
    text = recorded.get("/compare/1/2").text
    assert "1 April 2026 (fitting 1) and 2 April 2026 (fitting 2)" in text
    assert '<li class="solved"><b>1</b>' in text
    assert "as foretold" in text
    assert text.count("<img") == 4
    other_way = recorded.get("/compare/2/1").text
    assert '<li class="worse"><b>1</b>' in other_way


def test_her_usual_alterations(recorded):
    text = recorded.get("/wearer/1/profile").text
    assert "Profile from 2 fittings of 1 garment" in text
    assert "One garment does not make a habit yet" in text
    assert "Forward shoulder" in text
    assert "Profile from 1 fitting of 1 garment" in recorded.get("/wearer/2/profile").text


def test_her_posture(recorded):
    text = recorded.get("/wearer/1/posture").text
    assert "Shoulder forward of the back neck point, your right" in text
    assert "4.5 cm" in text
    assert "2 days" in text
    assert "see a doctor" in text.lower()
    assert "as repeats of the same day" in text
