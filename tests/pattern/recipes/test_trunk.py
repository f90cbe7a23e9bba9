"""Lengths and widths of the trunk by hand: what grows grows by the amount, and what should stay stays."""

import math

import numpy as np
import pytest

from fitcheck.pattern.alter import Altered, alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.moves.true_seams import HAIR_MM
from fitcheck.pattern.piece import Piece

FRONTS = ("dart", "princess", "none")


def altered(id: str, amount: float, front: str = "none", one_side: bool = False) -> Altered:
    changed = alter(id, amount, Body(), front, one_side=one_side)
    assert changed is not None
    return changed


def grown(changed: Altered, piece: str, *edges: str) -> float:
    return sum(changed.after[piece].length(edge) - changed.block.pieces[piece].length(edge) for edge in edges)


def width_at(piece: Piece, level: float, edge: str = "armhole") -> float:
    points = piece.edges[edge]
    return float(np.interp(level, points[:, 1], points[:, 0]))


def blade_level(changed: Altered) -> float:
    """Half way down the back armhole."""
    armhole = changed.block.pieces["back"].edges["armhole"]
    return float((armhole[0, 1] + armhole[-1, 1]) / 2)


@pytest.mark.parametrize("front", FRONTS)
@pytest.mark.parametrize("amount", [20.0, -20.0])
def test_the_whole_bodice_is_longer_by_the_same_at_front_back_and_sides(front: str, amount: float) -> None:
    changed = altered("whole_bodice_length", amount, front)
    fronts = [name for name in changed.after if "front" in name]
    first, last = changed.after[fronts[0]], changed.after[fronts[-1]]
    assert grown(changed, "back", "centre") == pytest.approx(amount)
    assert grown(changed, first.name, "centre") == pytest.approx(amount)
    assert grown(changed, "back", "side") == pytest.approx(amount, abs=0.5)  # the side seam slants by a few degrees
    assert grown(changed, last.name, *last.edges_named("side")) == pytest.approx(amount, abs=0.5)
    for name in ("back", *fronts):
        assert grown(changed, name, "armhole") == pytest.approx(0, abs=0.01)
    assert changed.after["sleeve"].edges["cap_back"] == pytest.approx(changed.block.pieces["sleeve"].edges["cap_back"])
    if front == "princess":
        assert grown(changed, "centre front", "princess_lower") == pytest.approx(grown(changed, "side front", "princess_lower"))
        assert grown(changed, "centre front", "princess_lower") == pytest.approx(amount, abs=0.3)


@pytest.mark.parametrize("front", FRONTS)
@pytest.mark.parametrize("amount", [15.0, -15.0])
def test_above_the_bust_armholes_and_cap_change_alike(front: str, amount: float) -> None:
    changed = altered("above_bust_length", amount, front)
    fronts = [name for name in changed.after if "front" in name]
    assert grown(changed, "back", "centre") == pytest.approx(amount)
    assert grown(changed, fronts[0], "centre") == pytest.approx(amount)
    assert grown(changed, "back", "armhole") == pytest.approx(amount, abs=1.5)  # the armhole runs all but upright there
    assert sum(grown(changed, name, "armhole") for name in fronts) == pytest.approx(amount, abs=1.5)
    assert grown(changed, "back", "side") == pytest.approx(0, abs=0.1)
    cap = [float(np.ptp(pieces["sleeve"].edges["cap_back"][:, 1])) for pieces in (changed.block.pieces, changed.after)]
    assert cap[1] - cap[0] == pytest.approx(amount, abs=2)
    if front != "none":
        bust = [float(pieces[fronts[0]].inner["bust point"][0, 1]) for pieces in (changed.block.pieces, changed.after)]
        assert bust[1] - bust[0] == pytest.approx(amount)


@pytest.mark.parametrize("amount", [13.0, -13.0, 25.0])
def test_a_broad_back_is_wider_at_the_blade_and_keeps_shoulder_and_waist(amount: float) -> None:
    changed = altered("back_width", amount)
    before, after = changed.block.pieces["back"], changed.after["back"]
    level = blade_level(changed)
    assert width_at(after, level) - width_at(before, level) == pytest.approx(amount, abs=0.5)
    assert after.edges["armhole"][-1] - before.edges["armhole"][-1] == pytest.approx([amount, 0])  # slid, not swung
    assert after.edges["shoulder"] == pytest.approx(before.edges["shoulder"])
    assert after.length("waist") == pytest.approx(before.length("waist"), abs=HAIR_MM)  # no dart of 44 mm
    assert "waist" not in after.taken
    lower = before.edges["armhole"][:, 1] > level
    assert (after.edges["armhole"] - before.edges["armhole"])[lower] == pytest.approx(np.array([[amount, 0.0]] * int(lower.sum())), abs=0.5)


def test_the_cut_for_a_broad_back_leaves_the_shoulder_an_inch_from_its_end() -> None:
    changed = altered("back_width", 13.0)
    (cut,) = (mark.points for mark in changed.after["back"].marks if mark.kind == "cut")
    tip = changed.block.pieces["back"].edges["shoulder"][-1]
    assert math.dist(cut[0], tip) == pytest.approx(25)
    assert cut[1][0] == cut[0][0]  # straight down ...
    assert cut[1][1] > changed.block.pieces["back"].edges["armhole"][-1, 1]  # ... to below the armhole
    assert cut[2][1] == cut[1][1]  # and level out


def test_prominent_blades_get_the_amount_between_two_darts_that_take_it_out_again() -> None:
    changed = altered("shoulder_blades", 12.0)
    before, after = changed.block.pieces["back"], changed.after["back"]
    assert width_at(after, blade_level(changed)) - width_at(before, blade_level(changed)) == pytest.approx(12)
    assert (after.taken["shoulder"], after.taken["waist"]) == (12, 12)
    assert after.length("shoulder") == pytest.approx(before.length("shoulder"))
    assert after.length("waist") == pytest.approx(before.length("waist"))
    upper, lower = (mark.points for mark in after.marks if mark.kind == "dart")
    blade = next(mark.points for mark in after.marks if mark.kind == "arrow").mean(axis=0)
    assert blade[1] - upper[1][1] == pytest.approx(20)
    assert lower[1][1] - blade[1] == pytest.approx(20)
    for legs in (upper, lower):  # sewn together, so of one length: the slant of the shoulder alone keeps them apart
        assert math.dist(legs[0], legs[1]) == pytest.approx(math.dist(legs[2], legs[1]), abs=0.01)


@pytest.mark.parametrize("front", FRONTS)
def test_a_side_alone_is_longer_at_the_side_seam_and_not_at_the_centres(front: str) -> None:
    changed = altered("side_length", 13.0, front, one_side=True)
    fronts = [name for name in changed.after if "front" in name]
    last = changed.after[fronts[-1]]
    assert grown(changed, "back", "side") == pytest.approx(13, abs=1)
    assert grown(changed, last.name, *last.edges_named("side")) == pytest.approx(13, abs=1)
    assert grown(changed, "back", "centre") == pytest.approx(0, abs=0.01)
    assert grown(changed, fronts[0], "centre") == pytest.approx(0, abs=0.01)


def test_a_deeper_neck_goes_down_at_the_centre_and_stays_at_the_shoulder() -> None:
    changed = altered("neck_depth", 12.0)
    neck = changed.after["front"].edges["neck"] - changed.block.pieces["front"].edges["neck"]
    assert neck[0] == pytest.approx([0, 12])
    assert neck[-1] == pytest.approx([0, 0])
    assert grown(changed, "front", "centre") == pytest.approx(-12)
    assert grown(changed, "collar or facing", "front") == pytest.approx(grown(changed, "front", "neck"))


def test_a_sway_back_is_drawn_down_over_the_seat_and_folds_nothing_at_the_side() -> None:
    changed = altered("sway_back", 15.0)
    waist = Body().back_waist
    assert changed.after["back"].edges["centre"][0, 1] > waist + 150
    assert grown(changed, "back", "centre") == pytest.approx(-15)
    assert grown(changed, "back", "side") == pytest.approx(0, abs=0.01)
