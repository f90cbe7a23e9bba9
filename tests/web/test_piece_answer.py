"""What comes of a piece in the page: its round, its partners, altered, kept, found again."""

import re
from datetime import date

import numpy as np
import pytest
from diary.conftest import fit_check, new_fitting, step
from scenes.sheets.drafted import bodice
from web.lying import begin, lying

from fitcheck.diary.reading import pieces as kept_pieces
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary
from fitcheck.piece.piece_file import kept_piece

FRONT, BACK = bodice("front", 1.0, 0.0, False, True), bodice("back", 1.0, 0.0, False, False)


def test_a_forward_shoulder_is_done_on_front_and_back(asked):
    """10 mm off the front at the armhole end, as much onto the back; both shoulders stay as long as each other."""
    lying(asked, BACK, "bodice", "Anna")
    work = lying(asked, FRONT, "bodice", "Anna")
    form = {"other_0": "forward_shoulder", "amount_0": "1", "with_back": "yes"}
    assert asked.post(f"/piece/{work.id}/alter", form).status == 303
    text = asked.get(f"/piece/{work.id}").text
    assert "Forward shoulder" in text
    assert "Front</strong>, altered" in text
    assert "Back</strong>, altered" in text
    assert "back shoulder / front shoulder" in text
    outcome = work.outcome[2]
    front, back = outcome.after
    assert front.edges["shoulder"][-1][1] - work.piece.edges["shoulder"][-1][1] == pytest.approx(10, abs=1.0)
    assert front.done == (("forward_shoulder", 10.0),)
    lengths = [float(np.hypot(*np.diff(piece.edges["shoulder"], axis=0).T).sum()) for piece in (front, back)]
    assert lengths[0] == pytest.approx(lengths[1], abs=1.0)
    svg = asked.get(f"/piece/{work.id}/drawing/1.svg")
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert 'id="before"' in svg.text


def test_alone_it_says_what_the_partner_needs(asked):
    work = lying(asked, FRONT)
    asked.post(f"/piece/{work.id}/alter", {"other_0": "waist_width", "amount_0": "4"})
    text = asked.get(f"/piece/{work.id}").text
    assert re.search(r"The waist of the front becomes [\d.]+ cm longer; so must its waistband, skirt or bodice", text)


def test_an_alteration_for_another_piece_is_passed_over_with_a_sentence(asked):
    work = lying(asked, FRONT)
    asked.post(f"/piece/{work.id}/alter", {"other_0": "crotch_depth", "amount_0": "1"})
    assert "is not for this piece" in asked.get(f"/piece/{work.id}").text


def test_it_is_kept_and_the_next_round_starts_from_there(asked):
    with Diary(asked.house.diary_folder, create=True) as diary:
        record(diary, new_fitting(fit_check(1, steps=(step(10.0),)), day=date(2026, 4, 1)))
    work = lying(asked, FRONT, "bodice", "Anna")
    assert work.round.alterations == (("forward_shoulder", 10.0, False),)
    assert "This round of bodice" in asked.get(f"/piece/{work.id}").text
    asked.post(f"/piece/{work.id}/alter", {"round_0": "yes"})
    assert asked.post(f"/piece/{work.id}/keep", {}).status == 303
    assert "Kept in the diary with bodice of Anna" in asked.get(f"/piece/{work.id}").text
    with Diary(asked.house.diary_folder) as diary:
        states = [(name, fitting, kept_piece(text).done) for name, fitting, text in kept_pieces(diary, "Anna", "bodice")]
    assert states == [("front", None, ()), ("front", 1, (("forward_shoulder", 10.0),))]
    assert "Front: next round" in asked.get("/pieces").text
    again = asked.app.state.pieces.get(begin(asked, wearer="Anna", garment="bodice", kept="front").rsplit("/", 1)[1])
    assert again.piece.done == (("forward_shoulder", 10.0),)
    assert again.round.alterations == ()
    assert asked.get(f"/piece/{again.id}").status == 200


def test_without_a_name_it_is_not_kept(asked):
    work = lying(asked, FRONT)
    answer = asked.post(f"/piece/{work.id}/keep", {"wearer": "Anna"})
    assert answer.status == 400
    assert "The diary needs to know which garment this is." in answer.text


def test_a_round_of_a_checked_fitting_comes_with_it(asked, case):
    """Its forward shoulder, in the amount that is cut."""
    from web.asked import on_table

    fitting = on_table(asked, case, wearer="Anna", garment="bodice")
    work = asked.app.state.pieces.get(begin(asked, fitting=fitting.id).rsplit("/", 1)[1])
    assert (work.facts.wearer, work.facts.garment) == ("Anna", "bodice")
    assert "forward_shoulder" in [id for id, _, _ in work.round.alterations]
    assert work.asked == work.round.alterations


def test_the_next_round_of_a_piece_that_is_gone_is_refused(asked):
    answer = asked.post("/pieces", {"wearer": "Anna", "garment": "bodice", "kept": "front"})
    assert answer.status == 400
    assert "no longer holds this piece" in answer.text
