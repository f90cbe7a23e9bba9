"""A square of 200 mm opened across, by hand."""

import numpy as np
import pytest

from fitcheck.pattern.lines import line
from fitcheck.pattern.moves.lengthen import lengthened, opened_across, redrawn_hem
from fitcheck.pattern.piece import Piece

SQUARE = Piece(
    "back",
    {
        "top": line((0, 0), (200, 0)),
        "side": line((200, 0), (200, 200)),
        "hem": line((200, 200), (0, 200)),
        "centre": line((0, 200), (0, 0)),
    },
)


@pytest.mark.parametrize("amount", [10.0, -10.0])
def test_the_same_amount_from_edge_to_edge(amount):
    longer = lengthened(SQUARE, 120.0, amount)
    assert longer.edges["hem"].tolist() == [[200, 200 + amount], [0, 200 + amount]]
    assert (longer.length("side"), longer.length("centre")) == (200 + amount, 200 + amount)
    assert longer.edges["top"].tolist() == SQUARE.edges["top"].tolist()
    assert [mark.kind for mark in longer.marks] == ["cut", "gap" if amount > 0 else "lap", "arrow"]


def test_to_nothing_at_the_side_there_is_a_hinge():
    folded = opened_across(SQUARE, 120.0, -12.0, 0.0, 200.0)
    assert (folded.length("centre"), folded.length("side")) == (188, 200)
    (hinge,) = (mark for mark in folded.marks if mark.kind == "hinge")
    assert hinge.points.tolist() == [[200, 120]]


def test_half_the_amount_half_way_across():
    opened = opened_across(SQUARE, 100.0, 10.0, 0.0, 400.0)
    assert opened.edges["hem"].tolist() == [[200, 205], [0, 210]]


def test_a_hem_is_drawn_anew_below_a_level():
    lower = redrawn_hem(SQUARE, 100.0, 200.0, 20.0, 0.0, 0.0, 200.0)
    assert lower.edges["hem"].tolist() == [[200, 200], [0, 220]]
    assert np.allclose(lower.edges["top"], SQUARE.edges["top"])
