"""A dart at a plumb side seam: its legs level out to 80 mm, its mouth 30 mm wide."""

import numpy as np
import pytest

from fitcheck.pattern.drawing.dart import legs, mouth_width, trued_dart
from fitcheck.pattern.lines import line, unit
from fitcheck.pattern.piece import Piece


@pytest.fixture
def piece():
    return Piece(
        "front",
        {
            "side_upper": line((180, 200), (180, 260)),
            "dart_upper": line((180, 260), (100, 275)),
            "dart_lower": line((100, 275), (180, 290)),
            "side_lower": line((180, 290), (180, 400)),
            "waist": line((180, 400), (0, 400)),
            "centre": line((0, 400), (0, 0)),
        },
    )


def folded(place, one, other):
    """The mirror image of a place in the line through two others."""
    along = unit(np.array(other, float) - one)
    way = np.array(place, float) - one
    return one + 2 * (way @ along) * along - way


def test_both_legs_run_from_the_edge_to_the_point(piece):
    upper, lower = legs(piece)
    assert upper == pytest.approx(np.array([[180, 260], [100, 275]]))
    assert lower == pytest.approx(np.array([[180, 290], [100, 275]]))
    assert mouth_width(piece) == pytest.approx(30)


def test_without_a_dart_there_is_no_mouth():
    plain = Piece("back", {"side": line((0, 0), (0, 100))})
    assert legs(plain) is None
    assert mouth_width(plain) == 0


def test_the_point_is_drawn_back_from_the_bust_point(piece):
    sewn, _ = trued_dart(piece)
    assert sewn == pytest.approx(np.array([[180, 260], [120, 275], [180, 290]]))  # 2 cm, common practice


def test_folded_down_the_dart_ends_at_the_seam(piece):
    """Paper folded along the lower leg: the tip of the mouth falls on to the side seam below the dart, which goes in by 2 in 11."""
    piece = piece.with_edges(side_lower=line((180, 290), (160, 400)))
    _, mouth = trued_dart(piece)
    tip = mouth[1]
    assert tip[1] == pytest.approx(275)
    x, y = folded(tip, piece.edges["dart_lower"][1], piece.edges["dart_lower"][0])
    assert y > 290
    assert (180 - x) / (y - 290) == pytest.approx(2 / 11)


def test_a_dart_from_the_shoulder_ends_further_from_the_bust_point():
    piece = Piece(
        "front",
        {
            "shoulder": line((60, 0), (100, 0)),
            "dart_inner": line((100, 0), (110, 200)),
            "dart_outer": line((110, 200), (120, 0)),
            "shoulder_outer": line((120, 0), (180, 0)),
            "armhole": line((180, 0), (60, 0)),
        },
    )
    sewn, mouth = trued_dart(piece)
    assert sewn[1] == pytest.approx([110, 160])
    assert folded(mouth[1], np.array([100.0, 0.0]), (110, 200))[1] == pytest.approx(0, abs=1e-6)  # folded to the centre
