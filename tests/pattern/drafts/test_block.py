"""What a block is: tape measurements in, seam lengths that follow each other."""

import numpy as np
import pytest

from fitcheck.core.fitting import TapeFacts
from fitcheck.pattern.drafts.block import Block, Body, strip
from fitcheck.pattern.lines import line
from fitcheck.pattern.piece import Piece


def test_the_body_is_the_wearers_where_she_measured():
    body = Body.of(TapeFacts(unit="cm", bust=100, back_waist_length=39, shoulder_length=12.5))
    assert (body.bust, body.back_waist, body.shoulder) == pytest.approx((1000, 390, 125))
    assert body.waist == Body().waist


def test_the_armhole_lies_a_sixth_of_the_bust_and_a_little_down():
    assert Body(bust=900).armhole_depth == pytest.approx(243)
    assert Body(bust=900).bust_level == pytest.approx(273)
    assert Body(bust=1800, back_waist=400, back_neck=20).armhole_depth == pytest.approx(320)  # never near the waist


def test_back_waist_length_is_counted_from_the_centre_of_the_neck():
    assert Body(back_waist=400, back_neck=20).waist_level == pytest.approx(420)


def piece(name, *longs):
    return Piece(name, {f"edge_{i}": line((0, 0), (long, 0)) for i, long in enumerate(longs)})


def test_an_edge_is_wanted_as_long_as_its_neighbour_with_the_ease_it_had():
    """A front in two panels, 120 and 90, eased by 10 to a back of 200: when the back grows to 206, the second panel has to be 96."""
    block = Block(
        {"back": piece("back", 200), "front": piece("front", 120), "side": piece("side", 90)},
        (((("back", "edge_0"),), (("front", "edge_0"), ("side", "edge_0"))),),
    )
    after = {**block.pieces, "back": piece("back", 206)}
    assert block.wanted(after, "side", "edge_0") == pytest.approx(96)
    assert block.wanted(after, "front", "edge_0") == pytest.approx(126)
    assert block.wanted({**block.pieces, "side": piece("side", 95)}, "back", "edge_0") == pytest.approx(205)
    with pytest.raises(KeyError):
        block.wanted(after, "back", "hem")


def test_a_strip_is_as_long_as_its_seams_and_notched_between_them():
    band = strip("waistband", back=190, front=210)
    assert [band.length(edge) for edge in ("back", "front", "top")] == pytest.approx([190, 210, 400])
    assert band.inner["notch"][0] == pytest.approx(band.edges["front"][0])
    assert np.ptp(band.outline, axis=0) == pytest.approx([400, 35])
