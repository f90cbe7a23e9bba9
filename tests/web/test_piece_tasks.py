"""What the reading process does about pieces, asked without a page."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice, sleeve

from fitcheck.core.errors import PhotoError, UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.piece.put_right import PutRight
from fitcheck.web import piece_tasks
from fitcheck.web.piece_tasks import Wanted

FRONT, BACK = as_read(bodice("front", 1.0, 15.0, True, True)), as_read(bodice("back", 1.0, 15.0, True, False))
TAPE = FittingFacts.model_validate({"tape": {"unit": "cm", "bust": 91.0, "waist": 82.0, "back_waist_length": 40.0}})


def test_a_piece_without_a_photo_stands_on_plain_paper(desk):
    found = piece_tasks.blank(desk, FRONT)
    picture = cv2.imdecode(np.frombuffer(found.picture.jpeg, np.uint8), cv2.IMREAD_COLOR)
    assert picture.shape[1::-1] == found.picture.size_px
    size = np.array(found.picture.size_px) * found.picture.mm_per_px
    np.testing.assert_allclose(size, np.ptp(FRONT.outline, axis=0) + 50, atol=0.5)
    assert picture.min() > 200


def test_nothing_asked_changes_nothing_and_the_paper_is_held_against_the_tape(desk):
    found = piece_tasks.outcome(desk, Wanted((FRONT, BACK), (), TAPE, "cm"))
    assert found.after == (FRONT, BACK)
    assert [one.changed for one in found.drawings] == [False, False]
    rows = {at: (paper.replace("\u00a0", " "), tape.replace("\u00a0", " "), says) for at, paper, tape, says in found.ease}
    assert rows["waist"][1] == "82.0 cm"
    assert rows["bust"][2] == "as usual"
    assert found.follows == ()


def test_the_steps_are_those_for_the_front_that_is_seen(desk):
    found = piece_tasks.outcome(desk, Wanted((FRONT,), (("full_small_bust", 15.0, False),), FittingFacts(front="princess"), "cm"))
    (step,) = found.steps
    assert step[0].startswith("full bust")
    assert "princess" not in " ".join(step)
    assert "dart" in " ".join(step)


def test_a_sleeve_is_drawn_before_and_after(desk):
    found = piece_tasks.outcome(desk, Wanted((as_read(sleeve(1.0, 15.0)),), (("sleeve_length", 30.0, False),), FittingFacts(), "cm"))
    (drawing,) = found.drawings
    assert drawing.changed
    assert b'id="before"' in drawing.svg
    lengths = {name: (before, after) for name, before, after in drawing.edges}
    assert lengths["wrist"][0] == lengths["wrist"][1]
    assert lengths["underarm 1"][0] != lengths["underarm 1"][1]


def test_the_alterations_that_can_be_asked_are_those_of_the_kind(desk):
    upper = dict(piece_tasks.known_alterations(desk, (FRONT,)))
    lower = dict(piece_tasks.known_alterations(desk, (replace(FRONT, name="trousers_front"),)))
    assert "forward_shoulder" in upper
    assert "crotch_depth" in lower
    assert "forward_shoulder" not in lower


def test_what_is_put_right_holds_together_or_is_refused(desk):
    assert piece_tasks.right(desk, FRONT, PutRight(what="allowance", mm=10.0)).allowance_mm == 10.0
    with pytest.raises(UsageError, match="would not hold together"):
        piece_tasks.right(desk, FRONT, PutRight(what="corner", index=1, to=(-900.0, 900.0)))


def test_a_file_that_is_no_photo_is_refused(desk, tmp_path):
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xff no photo")
    with pytest.raises(PhotoError):
        piece_tasks.look(desk, tmp_path / "a.jpg")
