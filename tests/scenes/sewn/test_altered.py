"""Alterations add up on the same pieces, in whatever order they are named."""

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import bodice
from fitcheck.pattern.lines import path_length
from fitcheck.pattern.piece import Pieces
from tests.scenes.sewn.altered import BELOW_MM, altered, dress

BODY = Body(bust=900, waist=740, hip=980)
SOME = (
    "neck_forward",
    "forward_shoulder",
    "narrow_broad_shoulder",
    "square_sloping_shoulder",
    "whole_bodice_length",
    "waist_length_front",
    "side_length",
    "bust_point_height",
    "full_small_bust",
    "back_width",
    "front_side_width",
    "hip_width",
    "armhole_depth",
    "neck_width",
    "neck_depth",
)
Asked = list[tuple[str, float]]
MM = st.floats(-10, 10).map(lambda mm: round(mm, 1))
ASKED = st.lists(st.tuples(st.sampled_from(SOME), MM), min_size=1, max_size=4, unique_by=lambda one: one[0])


def seams(pieces: Pieces) -> list[tuple[str, float, float]]:
    """Every seam of back and front, with the length of each side as sewn."""
    found = []
    for one, two in bodice(BODY, "dart", BELOW_MM).sewn:
        if all(piece in pieces for side in (one, two) for piece, _ in side):
            sides = [
                sum(path_length(pieces[piece].edges[edge]) - pieces[piece].taken.get(edge, 0.0) for piece, edge in side)
                for side in (one, two)
            ]
            found.append((str(one), sides[0], sides[1]))
    return found


@settings(max_examples=25, deadline=None)
@given(ASKED, st.randoms())
def test_the_order_in_which_they_are_named_does_not_matter(asked: Asked, random: Random) -> None:
    shuffled = list(asked)
    random.shuffle(shuffled)
    one, two = altered(BODY, "dart", asked), altered(BODY, "dart", shuffled)
    for name, piece in one.items():
        for edge, points in piece.edges.items():
            assert points == pytest.approx(two[name].edges[edge])


@settings(max_examples=25, deadline=None)
@given(ASKED)
def test_seams_are_true_after_all_of_them(asked: Asked) -> None:
    for name, one, two in seams(altered(BODY, "dart", asked)):
        assert one == pytest.approx(two, abs=1.0), name


def test_a_fuller_bust_keeps_what_was_altered_before() -> None:
    both = altered(BODY, "dart", [("neck_depth", 8.0), ("full_small_bust", 10.0)])
    bust = altered(BODY, "dart", [("full_small_bust", 10.0)])
    deeper = both["front"].edges["centre"][-1, 1] - bust["front"].edges["centre"][-1, 1]
    assert deeper == pytest.approx(8.0, abs=0.1)


def test_a_shoulder_moved_forward_is_kept_when_the_bust_is_redrawn() -> None:
    both = altered(BODY, "dart", [("forward_shoulder", 10.0), ("full_small_bust", 10.0)])["front"]
    shoulder = altered(BODY, "dart", [("forward_shoulder", 10.0)])["front"]
    plain = dress(BODY)["front"]
    assert both.edges["shoulder"] == pytest.approx(shoulder.edges["shoulder"])
    assert np.hypot(*(both.edges["shoulder"] - plain.edges["shoulder"])[-1]) == pytest.approx(10.0, abs=1.2)
    assert both.edges["dart_upper"][-1, 0] - plain.edges["dart_upper"][-1, 0] == pytest.approx(10.0, abs=0.1)


def test_an_alteration_and_its_contrary_leave_the_block() -> None:
    there = altered(BODY, "dart", [("whole_bodice_length", 0.0)])
    for name, piece in dress(BODY).items():
        assert np.vstack(list(there[name].edges.values())) == pytest.approx(np.vstack(list(piece.edges.values())), abs=0.01)


def test_what_has_no_drawing_on_a_dress_is_refused() -> None:
    with pytest.raises(ValueError, match="crotch_depth"):
        altered(BODY, "dart", [("crotch_depth", 5.0)])
