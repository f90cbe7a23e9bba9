"""A piece on paper: its files by the ends of their names, and the steps below them."""

import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice, skirt

from fitcheck.core.fitting import FittingFacts
from fitcheck.piece.altering import alter_own
from fitcheck.piece_sheets import instructions, on_paper, write_as

FRONT = as_read(bodice("front", 1.0, 15.0, True, True))


@pytest.mark.parametrize(("end", "begins"), [("pdf", b"%PDF"), ("svg", b"<?xml"), ("dxf", b"  0")])
def test_each_file_is_what_its_name_says(tmp_path, end, begins):
    drawn = on_paper(FRONT, None, (), FittingFacts(), "cm")
    assert drawn.title == "front"
    write_as(tmp_path / f"piece.{end}", drawn, "a4", "cm")
    assert (tmp_path / f"piece.{end}").read_bytes().startswith(begins)


def test_steps_are_told_for_the_front_and_the_garment_that_are_seen():
    told = FittingFacts(front="princess", kind="trousers")
    bust = " ".join(instructions(alter_own([FRONT], "full_small_bust", 15.0), told, "cm"))
    assert "dart" in bust
    assert "princess" not in bust
    plain = " ".join(instructions(alter_own([as_read(bodice("front", 1.0, 15.0, True, False))], "full_small_bust", 15.0), told, "cm"))
    assert "princess" not in plain
    waist = instructions(alter_own([as_read(skirt("skirt", 1.0, 15.0, True))], "waist_width", 20.0), told, "cm")
    assert waist[0].replace("\u00a0", " ").endswith("2.0 cm:")


def test_what_is_altered_says_so_and_tells_its_steps_below():
    step = alter_own([FRONT], "forward_shoulder", 10.0)
    drawn = on_paper(step.pieces[0].after, FRONT, (step,), FittingFacts(), "cm")
    assert drawn.title == "front altered"
    assert len(drawn.below.steps) == len(instructions(step, FittingFacts(), "cm"))
