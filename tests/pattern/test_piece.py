"""A piece of paper, by hand."""

import pytest

from fitcheck.pattern.lines import line
from fitcheck.pattern.piece import Mark, Piece, arrow, seam_length

PIECE = Piece("front", {"top": line((0, 0), (30, 0)), "side_upper": line((30, 0), (30, 40)), "side_lower": line((30, 40), (0, 0))})


def test_a_seam_is_as_long_as_it_is_sewn():
    """A dart of 6 mm and 2 mm of ease leave 22 of 30."""
    eased = PIECE.taking(top=6.0).taking(top=2.0)
    assert (PIECE.length("top"), eased.length("top"), eased.length("side_upper")) == (30, 22, 40)
    assert seam_length({"front": eased}, (("front", "top"), ("front", "side_upper"))) == 62


def test_the_outline_goes_around_once():
    assert PIECE.outline.tolist() == [[0, 0], [30, 0], [30, 0], [30, 40], [30, 40], [0, 0], [0, 0]]


def test_a_side_seam_in_two_parts_has_two_edges():
    assert PIECE.edges_named("side") == ["side_upper", "side_lower"]


def test_new_edges_keep_their_order_and_marks_are_added():
    moved = PIECE.with_edges(Mark("cut", line((0, 0), (9, 9))), side_upper=line((30, 0), (30, 50)))
    assert [*moved.edges] == [*PIECE.edges]
    assert moved.length("side_upper") == 50
    assert [mark.kind for mark in moved.marks] == ["cut"]
    assert PIECE.length("side_upper") == 40
    assert PIECE.marks == ()


@pytest.mark.parametrize(("amount", "says"), [(None, "{mm:5.0}"), (-12.5, "{mm:12.5}")])
def test_an_arrow_says_how_far(amount, says):
    assert arrow(line((0, 0))[0], line((3, 4))[0], amount).says == says
