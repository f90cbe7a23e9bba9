"""What of a piece can be moved in the browser, in pixels of its picture."""

import json

import numpy as np
import pytest
from scenes.sheets.drafted import bodice
from web.lying import lying

from fitcheck.web.piece_marks import marks_of
from fitcheck.web.piece_work import PieceWork

FRONT = bodice("front", 1.0, 0.0, False, True)


def test_a_corner_is_moved_taken_back_and_moved_again(asked):
    work = lying(asked, FRONT)
    tip = work.piece.edges["armhole"][0]
    said = {"what": "corner", "index": 2, "to": [tip[0] + 5, tip[1]]}
    found = asked.post(f"/piece/{work.id}/put", json.dumps(said).encode()).data
    assert found["back"]
    assert not found["forth"]
    assert work.piece.edges["shoulder"][-1][0] == pytest.approx(tip[0] + 5, abs=0.01)
    assert asked.post(f"/piece/{work.id}/back").data["forth"]
    assert work.piece.edges["shoulder"][-1][0] == pytest.approx(tip[0], abs=0.01)
    asked.post(f"/piece/{work.id}/forth")
    assert work.piece.edges["shoulder"][-1][0] == pytest.approx(tip[0] + 5, abs=0.01)


def test_a_pixel_is_where_its_millimetre_is(asked):
    work = lying(asked, FRONT)
    marks = marks_of(work, "cm")
    tip = next(point for point in marks["points"] if point["says"] == "Corner of shoulder and armhole")
    place = np.array(marks["low"]) + np.array(tip["xy"]) * marks["mm_per_px"]
    np.testing.assert_allclose(place, FRONT.edges["armhole"][0], atol=0.01)
    assert len({point["says"] for point in marks["points"]}) == len(marks["points"])


def test_lengths_are_told_in_her_unit(asked):
    """The centre of size 1 runs from 80 to 422 mm."""
    work = lying(asked, FRONT)
    assert "centre, 34.2 cm as sewn" in [text.replace("\u00a0", " ") for text in marks_of(work, "cm")["numbers"]]
    assert any("in as sewn" in text.replace("\u00a0", " ") for text in marks_of(work, "in")["numbers"])


def test_nothing_is_shown_of_a_piece_that_is_not_read(asked, tmp_path):
    with pytest.raises(ValueError, match="not read"):
        marks_of(PieceWork("x", tmp_path), "cm")
