"""The pitch of a sleeve by rigid geometry: a sleeve set into a round armhole turns as a wheel does.

Seen from her right side, her front at the right of the picture. The armhole is a circle; the cap lies on it, the notch of the cap at the
shoulder seam, on top. The lengthwise grain runs from the middle of the cap through the circle's middle down to the wrist.
"""

import math

import numpy as np
import pytest

from fitcheck.advice.table import knowledge
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.piece import Pieces


def armhole(pieces: Pieces) -> float:
    return sum(piece.length("armhole") for piece in pieces.values() if "armhole" in piece.edges)


def wrist_forward_deg(notch_forward_mm: float, around_mm: float) -> float:
    """How far the wrist swings to the front when the cap's notch is moved along the cap towards the front."""
    radius = around_mm / (2 * math.pi)
    # Before, the cap's top lies at the top of the circle and the wrist straight below. The new notch comes to the top, so the old top lies
    # behind it by the distance along the cap, and the whole sleeve has turned by that angle about the circle's middle.
    turned = notch_forward_mm / radius
    top = np.array([-math.sin(turned), math.cos(turned)])  # x to the front, y up
    wrist = -top
    return math.degrees(math.atan2(wrist[0], -wrist[1]))


def test_ten_millimetres_are_eight_degrees() -> None:
    assert wrist_forward_deg(10, 450) == pytest.approx(8.0, abs=0.05)
    assert wrist_forward_deg(-10, 450) == pytest.approx(-8.0, abs=0.05)


@pytest.mark.parametrize("amount", [10.0, -10.0])
def test_an_arm_that_hangs_further_forward_wants_the_wrist_swung_forward(amount: float) -> None:
    """`sleeve_swing` above zero: the arm hangs in front of the sleeve. The alteration that it asks for has to bring the wrist forward."""
    row = knowledge().alterations["sleeve_pitch"]
    changed = alter("sleeve_pitch", amount, Body(), "none")
    assert changed is not None
    sleeve = changed.after["sleeve"]
    arrow = next(mark.points for mark in sleeve.marks if mark.kind == "arrow")
    notch_forward = float(np.sign(arrow[1][0] - arrow[0][0])) * math.dist(*arrow)  # the front of the cap lies at the right of the piece
    assert sleeve.edges["cap_front"][-1, 0] > sleeve.edges["cap_back"][0, 0]
    swing = wrist_forward_deg(notch_forward, armhole(changed.block.pieces))
    assert swing == pytest.approx(row.effects.per_10["sleeve_swing"] * amount / 10, rel=0.1)


def test_the_words_turn_the_sleeve_as_the_drawing_does() -> None:
    row = knowledge().alterations["sleeve_pitch"]
    assert row.minus is not None
    for direction, wrist, top, notch in ((row.plus, "forward", "back", "front"), (row.minus, "back", "front", "back")):
        turn, paper = direction.steps
        assert f"towards the {top}: the wrist swings {wrist}" in turn
        assert f"along the cap towards the {notch}" in paper
        assert direction.name.endswith(f"further {wrist}")
