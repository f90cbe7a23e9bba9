"""A card that does not lie in the paper's plane makes the grain line and the fold run apart."""

from dataclasses import replace

import numpy as np
import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice

from fitcheck.core.errors import PhotoError
from fitcheck.piece.askew import slant_deg, told_askew

FOLDED, SEAMED = (as_read(bodice("front", 1.0, 15.0, fold, False)) for fold in (True, False))


def leaning(piece, deg):
    """The grain line turned about its middle."""
    turn = np.radians(deg)
    middle = piece.grain.mean(axis=0)
    way = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return replace(piece, grain=middle + (piece.grain - middle) @ way.T)


def told(piece):
    return told_askew(piece.grain, piece.edges.get(piece.fold or "centre"), bool(piece.fold))


def test_an_angle_is_that_of_a_protractor_whichever_way_lines_run():
    level, up = np.array([[0.0, 0.0], [10.0, 0.0]]), np.array([[0.0, 0.0], [10.0, 10.0]])
    assert slant_deg(level, up) == pytest.approx(45.0)
    assert slant_deg(level[::-1], up) == pytest.approx(45.0)


@pytest.mark.parametrize("piece", [FOLDED, SEAMED])
def test_parallel_lines_say_nothing(piece):
    assert told(leaning(piece, 0.3)) == ()
    assert told(replace(piece, grain=None)) == ()


def test_a_fold_that_is_not_parallel_is_refused():
    with pytest.raises(PhotoError, match=r"Grain line and fold are 3\.0 degrees off parallel: the card does not lie in the plane"):
        told(leaning(FOLDED, 3.0))


def test_a_centre_with_a_seam_is_doubted():
    (says,) = told(leaning(SEAMED, 2.1))
    assert "Grain line and centre are 2.1 degrees off parallel" in says


def test_a_piece_cut_on_the_bias_says_nothing():
    assert told(leaning(FOLDED, 45.0)) == ()
