"""Seams that are sewn together, by lengths added up by hand."""

import numpy as np
import pytest

from fitcheck.pattern.drafts.block import Block, strip
from fitcheck.pattern.lines import line
from fitcheck.pattern.moves.true_seams import matched_princess, trued
from fitcheck.pattern.piece import Piece


def panel(name, long, armhole=200.0, neck=60.0):
    """A back or front of straight lines: neck, armhole and side as long as given, the rest around them."""
    return Piece(
        name,
        {
            "neck": line((0, 0), (neck, 0)),
            "armhole": line((neck, 0), (neck, armhole)),
            "side": line((neck, armhole), (neck, armhole + long)),
            "waist": line((neck, armhole + long), (0, armhole + long)),
            "centre": line((0, armhole + long), (0, 0)),
        },
    )


def cap(back=250.0, front=250.0):
    """A cap of two straight halves, each as 3, 4 and 5."""
    left, right = np.array([-0.8, 0.6]) * back, np.array([0.8, 0.6]) * front
    return Piece(
        "sleeve",
        {
            "cap_back": np.array([left, left / 2, [0, 0]]),
            "cap_front": np.array([[0, 0], right / 2, right]),
            "seam_front": np.array([right, [right[0], 550]]),
            "hem": np.array([[right[0], 550], [left[0], 550]]),
            "seam_back": np.array([[left[0], 550], left]),
        },
    )


@pytest.fixture
def block():
    """The back's side seam is eased on to the front's by 4 mm; each half of the cap has 50 mm of ease."""
    pieces = {"back": panel("back", 204), "front": panel("front", 200), "sleeve": cap()}
    sewn = (
        ((("back", "side"),), (("front", "side"),)),
        ((("back", "armhole"),), (("sleeve", "cap_back"),)),
        ((("front", "armhole"),), (("sleeve", "cap_front"),)),
    )
    return Block(pieces, sewn)


def test_what_fits_stays(block):
    found = trued(block, block.pieces, "top", "front")
    for name, piece in block.pieces.items():
        assert {edge: found[name].length(edge) for edge in piece.edges} == pytest.approx({edge: piece.length(edge) for edge in piece.edges})


@pytest.mark.parametrize(("holds", "back", "front"), [("front", 212, 208), ("back", 204, 200)])
def test_the_side_that_does_not_hold_follows_with_its_ease(block, holds, back, front):
    found = trued(block, {**block.pieces, "front": panel("front", 208)}, "top", holds)
    assert found["back"].length("side") == pytest.approx(back)
    assert found["front"].length("side") == pytest.approx(front)
    follows = found["back" if holds == "front" else "front"]
    assert follows.edges["waist"][0] == pytest.approx(follows.edges["side"][-1])


@pytest.mark.parametrize("armhole", [212.0, 194.0])
def test_a_cap_gives_at_its_top_and_each_half_keeps_its_ease(block, armhole):
    found = trued(block, {**block.pieces, "front": panel("front", 200, armhole)}, "top", "front")["sleeve"]
    assert found.length("cap_back") == pytest.approx(250, abs=0.02)
    assert found.length("cap_front") == pytest.approx(armhole + 50, abs=0.02)
    assert found.edges["seam_back"] == pytest.approx(cap().edges["seam_back"])
    assert found.edges["cap_back"][-1] == pytest.approx(found.edges["cap_front"][0])
    peak = np.vstack([found.edges["cap_back"], found.edges["cap_front"]])[:, 1].min()
    assert (peak < 0) == (armhole > 200)  # higher when it must be longer


def test_a_cap_gives_at_its_underarm_and_the_underarm_seam_keeps_its_length(block):
    found = trued(block, {**block.pieces, "front": panel("front", 200, 206)}, "underarm", "front")["sleeve"]
    assert found.length("cap_front") == pytest.approx(256, abs=0.02)
    assert found.length("cap_back") == pytest.approx(250, abs=0.02)
    assert found.length("seam_front") == pytest.approx(400)
    assert found.edges["cap_front"][-1, 0] > 200  # further out
    assert found.edges["cap_front"][0] == pytest.approx([0, 0])
    assert found.edges["seam_front"][0] == pytest.approx(found.edges["cap_front"][-1])


def test_the_back_of_a_cap_gives_the_other_way(block):
    found = trued(block, {**block.pieces, "back": panel("back", 204, 206)}, "underarm", "front")["sleeve"]
    assert found.length("cap_back") == pytest.approx(256, abs=0.02)
    assert found.length("cap_front") == pytest.approx(250, abs=0.02)
    assert found.length("seam_back") == pytest.approx(400)
    assert found.edges["cap_back"][0, 0] < -200
    assert found.edges["cap_back"][0, 0] > -220  # a few millimetres, not to the other side


def test_a_collar_is_as_long_as_the_neck():
    pieces = {"back": panel("back", 200, neck=70), "front": panel("front", 200, neck=110), "collar": strip("collar", back=70, front=110)}
    sewn = (
        ((("back", "side"),), (("front", "side"),)),
        ((("back", "neck"),), (("collar", "back"),)),
        ((("front", "neck"),), (("collar", "front"),)),
    )
    found = trued(Block(pieces, sewn), {**pieces, "front": panel("front", 200, neck=118)}, "top", "front")["collar"]
    assert found.length("back") == pytest.approx(70)
    assert found.length("front") == pytest.approx(118)
    assert found.length("top") == pytest.approx(188)
    assert [mark.says for mark in found.marks] == ["{mm:8.0}"]


@pytest.mark.parametrize(("level", "centre"), [(True, 215), (False, 200)])
def test_a_centre_front_is_lengthened_to_its_side_front(level, centre):
    """The side front is 10 longer above the bust and 5 below it: the bust falls by 10, the lower edge by 15."""
    front = Piece(
        "centre front",
        {
            "top": line((0, 0), (60, 0)),
            "princess_upper": line((60, 0), (60, 100)),
            "princess_lower": line((60, 100), (60, 200)),
            "waist": line((60, 200), (0, 200)),
            "centre": line((0, 200), (0, 0)),
        },
        {"bust point": line((60, 100))},
    )
    side = Piece("side front", {"princess_lower": line((0, 105), (0, 0)), "princess_upper": line((0, 0), (0, -110))})
    longer = matched_princess(front, side, level)
    assert longer.inner["bust point"][0] == pytest.approx([60, 110])
    assert longer.length("princess_upper") == pytest.approx(110)
    assert longer.length("princess_lower") == pytest.approx(105)
    assert longer.edges["waist"][0] == pytest.approx([60, 215])
    assert longer.length("centre") == pytest.approx(centre)
    assert bool([mark for mark in longer.marks if mark.kind == "hinge"]) is not level
