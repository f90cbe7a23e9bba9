"""Below the waist, as a dressmaker checks it with a tape."""

import numpy as np
import pytest
from shapely import Polygon

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.skirt_and_trousers import BAND, crotch_level, skirt, trousers
from fitcheck.pattern.piece import seam_length

BODY = Body(waist=720, hip=1000)


@pytest.mark.parametrize("draft", [skirt, trousers])
def test_every_seam_meets_its_neighbour(draft):
    block = draft(BODY)
    for one, two in block.sewn:
        assert seam_length(block.pieces, one) == pytest.approx(seam_length(block.pieces, two), abs=0.01), (one, two)
    assert block.pieces[BAND].length("top") == pytest.approx(block.pieces["back"].length("waist") + block.pieces["front"].length("waist"))
    assert all(Polygon(piece.outline).is_valid for piece in block.pieces.values())


def test_a_skirt_has_a_quarter_of_the_hip_and_its_ease_and_hangs_plumb_from_there():
    for piece in skirt(BODY).pieces.values():
        if piece.name != BAND:
            assert piece.length("hem") == pytest.approx(265)
            assert np.interp([200, 600], *piece.edges["side"].T[::-1]) == pytest.approx([265, 265])
            across = piece.edges["waist"][-1, 0] - piece.edges["waist"][0, 0]
            assert across == pytest.approx(205)  # a quarter of the waist, and the dart with a little ease
            assert piece.length("waist") < across


def test_the_crotch_lies_a_quarter_of_the_hip_and_a_little_down():
    assert crotch_level(BODY) == pytest.approx(270)


def test_the_back_of_trousers_reaches_further_through_and_higher_up():
    front, back = (trousers(BODY).pieces[name] for name in ("front", "back"))
    assert [-piece.edges["crotch"][0, 0] for piece in (front, back)] == pytest.approx([57.5, 120])  # a sixteenth and an eighth, less 5 mm
    assert front.edges["crotch"][0, 1] == pytest.approx(270)
    assert back.edges["waist"][0, 1] < front.edges["waist"][0, 1]
    assert back.length("crotch") > front.length("crotch")
    for piece in (front, back):
        assert piece.length("hem") == pytest.approx(200)
        assert piece.inner["crease"][-1, 0] == pytest.approx(piece.edges["hem"][:, 0].mean())
