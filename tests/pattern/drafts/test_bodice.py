"""The upper body as a dressmaker checks it with a tape: girths, slopes, and seams that meet."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import BACK_SHARE_OF_EASE, CAP_EASE_MM, COLLAR, DRAFTED_MM, as_worn, bodice, darted_front, half, sleeve
from fitcheck.pattern.piece import seam_length

BODY = Body(bust=920, waist=720, hip=1000, back_waist=410, shoulder=125, slope_deg=20, bust_span=190)
FRONTS = ["dart", "waist_dart", "french_dart", "shoulder_dart", "princess", "shoulder_princess", "none"]


@pytest.mark.parametrize("name", ["back", "front"])
def test_a_half_has_a_quarter_of_every_girth_and_its_ease(name):
    piece = half(BODY, name, below=300)
    assert piece.edges["armhole"][-1] == pytest.approx([252, BODY.armhole_depth])  # a quarter of the bust, 22 mm of ease
    waist = BODY.back_neck + 410  # back waist length begins at the bone, not at the shoulder's neck end
    assert np.interp(waist, *piece.edges["side"].T[::-1]) == pytest.approx(215)  # of the waist, 35 mm
    assert piece.edges["hem"][0] == pytest.approx([265, waist + 300])  # of the hip, 15 mm
    assert piece.length("centre") == pytest.approx(waist + 300 - piece.edges["neck"][0, 1])
    assert half(BODY, "back", below=300).length("centre") == pytest.approx(410 + 300)


def test_the_shoulder_has_its_length_and_falls_by_its_slope():
    falls = []
    for name in ("back", "front"):
        neck, tip = half(BODY, name).edges["shoulder"]
        assert math.dist(neck, tip) == pytest.approx(125)
        falls.append(math.degrees(math.atan2(tip[1] - neck[1], tip[0] - neck[0])))
    assert np.mean(falls) == pytest.approx(20, abs=0.1)
    assert falls[1] > falls[0]  # the seam runs forward towards the tip


def test_a_seam_moved_forward_is_taken_from_the_front_and_given_to_the_back():
    for entry, end in (("seam_forward_neck", 0), ("seam_forward_tip", -1)):
        moved = replace(BODY, **{entry: getattr(BODY, entry) + 4})
        falls = [half(moved, name).edges["shoulder"][end, 1] - half(BODY, name).edges["shoulder"][end, 1] for name in ("back", "front")]
        assert falls == pytest.approx([-4, 4])


def test_a_longer_front_has_more_between_neck_end_and_underarm_and_one_waist_with_the_back():
    longer = replace(BODY, front_longer=12)
    for body, more in ((BODY, 0), (longer, 12)):
        front, back = half(body, "front"), half(body, "back")
        assert front.edges["armhole"][-1, 1] == pytest.approx(back.edges["armhole"][-1, 1])
        assert back.edges["shoulder"][0, 1] - front.edges["shoulder"][0, 1] == pytest.approx(more - 2 * BODY.seam_forward_neck)


@pytest.mark.parametrize("entry", ["side_forward_bust", "side_forward_waist", "side_forward_hip"])
def test_a_side_seam_further_forward_gives_the_back_what_it_takes_from_the_front(entry):
    moved = replace(BODY, **{entry: 15.0})
    front, back = half(moved, "front", 260), half(moved, "back", 260)
    at = {"side_forward_bust": 0, "side_forward_waist": 1, "side_forward_hip": 2}[entry]
    before = half(BODY, "front", 260).edges["side"][at, 0]
    assert (front.edges["side"][at, 0], back.edges["side"][at, 0]) == pytest.approx((before - 15, before + 15))
    assert front.length("side") == pytest.approx(back.length("side"), abs=0.01)


def test_the_waist_line_rises_at_the_side_and_falls_at_the_front():
    body = replace(BODY, side_waist_up=8, front_waist_down=5)
    for name, centre in (("back", 0), ("front", 5)):
        line = half(body, name, 260).inner["waist"]
        assert line[:, 1] == pytest.approx([body.waist_level + centre, body.waist_level - 8])


def test_the_front_neck_is_lower_and_the_front_armhole_cuts_further_in():
    back, front = half(BODY, "back"), half(BODY, "front")
    assert front.edges["neck"][0, 1] > back.edges["neck"][0, 1]
    assert front.edges["armhole"][:, 0].min() < back.edges["armhole"][:, 0].min()
    assert [front.length(edge) for edge in ("shoulder", "side")] == pytest.approx([back.length(edge) for edge in ("shoulder", "side")])


def test_a_wider_spread_opens_a_wider_dart_with_equal_legs():
    mouths = []
    for spread in (DRAFTED_MM, DRAFTED_MM + 15):
        front = darted_front(BODY, spread)
        assert front.length("dart_upper") == pytest.approx(front.length("dart_lower"))
        assert front.length("side_upper") + front.length("side_lower") == pytest.approx(half(BODY, "back").length("side"))
        mouths.append(math.dist(front.edges["dart_upper"][0], front.edges["dart_lower"][1]))
    assert mouths[1] > mouths[0] + 5
    narrow, wide = (darted_front(BODY, spread).inner["bust point"][0, 0] for spread in (DRAFTED_MM, DRAFTED_MM + 15))
    assert wide - narrow == pytest.approx(15)
    assert narrow == pytest.approx(95)  # half of the bust span


def test_a_lower_edge_is_level_or_runs_to_nothing_at_the_centre():
    level, sloping = darted_front(BODY, 40), darted_front(BODY, 40, level=False)
    assert np.ptp(level.edges["waist"][:, 1]) == pytest.approx(0)
    assert level.length("centre") > sloping.length("centre")


def test_a_cap_is_as_long_as_the_armhole_and_its_ease():
    piece = sleeve(BODY, 210, 230)
    assert piece.length("cap_back") == pytest.approx(210 + CAP_EASE_MM * BACK_SHARE_OF_EASE, abs=0.01)
    assert piece.length("cap_front") == pytest.approx(230 + CAP_EASE_MM * (1 - BACK_SHARE_OF_EASE), abs=0.01)
    assert piece.length("seam_front") == pytest.approx(piece.length("seam_back"))
    assert piece.length("hem") < piece.edges["cap_front"][-1, 0] - piece.edges["cap_back"][0, 0]  # narrower at the wrist than at the arm


@pytest.mark.parametrize("front", FRONTS)
@pytest.mark.parametrize("below", [0.0, 300.0])
def test_every_seam_meets_its_neighbour_whatever_the_front(front, below):
    block = as_worn(bodice(BODY, front, below), front, BODY)
    for one, two in block.sewn:
        ease = {(("sleeve", "cap_back"),): 12.5, (("sleeve", "cap_front"),): 12.5}.get(two, 0)
        assert seam_length(block.pieces, two) - seam_length(block.pieces, one) == pytest.approx(ease, abs=0.1), (one, two)
    assert {"shoulder", "armhole", "neck"} <= {edge.split("_")[0] for one, _ in block.sewn for _, edge in one}
    assert COLLAR in block.pieces
    assert all(Polygon(piece.outline.round(6)).is_valid for piece in block.pieces.values())
