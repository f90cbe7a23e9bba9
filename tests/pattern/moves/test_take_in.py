"""Edges taken in: a rectangle with a wedge shut, one with a slanting edge, a princess seam and a tape, by the ruler."""

import math

import numpy as np
import pytest

from fitcheck.pattern.lines import line
from fitcheck.pattern.moves.slash_and_spread import Place
from fitcheck.pattern.moves.take_in import closed_wedge, taken_at_princess, taped
from fitcheck.pattern.piece import Piece


@pytest.mark.parametrize("ahead", [True, False])
def test_a_wedge_shut_about_the_middle_opens_as_wide_on_the_other_side(sheet, ahead, marks):
    """Equal triangles above and below the point: 10 mm taken out of the hem are 10 mm put into the top."""
    middle = np.array([50.0, 100.0])
    shut = closed_wedge(sheet, "hem", 50, 10, Place.on(sheet, "top", 50), middle, ahead)
    assert shut.length("hem") == pytest.approx(90, abs=0.2)
    assert shut.length("top") == pytest.approx(110, abs=0.1)
    assert [shut.length("side"), shut.length("centre")] == pytest.approx([200, 200])
    stays = "side" if ahead else "centre"
    assert shut.edges[stays] == pytest.approx(sheet.edges[stays])
    assert marks(shut, "arrow")[0].says == "{mm:10.0}"


def test_on_a_slanting_edge_the_wedge_is_wider_than_what_the_edge_loses(marks):
    """The point sees the edge at 45 degrees: a wedge w wide turns the paper by w / sqrt 2, of which the edge loses sin 45 of it, w / 2."""
    slanting = Piece(
        "slanting",
        {
            "top": line((0, 0), (300, 0)),
            "side": line((300, 0), (300, 100)),
            "hem": line((300, 100), (0, 400)),
            "centre": line((0, 400), (0, 0)),
        },
    )
    shut = closed_wedge(slanting, "hem", 300 / math.sqrt(2), 6, Place.on(slanting, "top", 150), np.array([150.0, 100.0]))
    assert slanting.length("hem") - shut.length("hem") == pytest.approx(6)
    (lap,) = marks(shut, "lap")
    assert math.dist(lap.points[1], lap.points[2]) == pytest.approx(12, abs=2)
    assert marks(shut, "arrow")[0].says == "{mm:6.0}"


def test_a_princess_seam_taken_in_shortens_the_armhole_and_stays_one_seam():
    centre = Piece(
        "centre front",
        {"armhole": line((180, 0), (172, 40), (170, 80)), "princess_upper": line((170, 80), (130, 120), (100, 200))},
    )
    side = Piece(
        "side front",
        {"princess_upper": line((100, 200), (130, 120), (170, 80)), "armhole": line((170, 80), (172, 110), (200, 140))},
    )
    one, two = taken_at_princess(centre, side, 8)
    shorter = sum(piece.length("armhole") for piece in (centre, side)) - sum(piece.length("armhole") for piece in (one, two))
    assert shorter == pytest.approx(8)
    assert one.length("princess_upper") == pytest.approx(two.length("princess_upper"))
    assert one.edges["princess_upper"][-1] == pytest.approx([100, 200])
    assert two.edges["princess_upper"][0] == pytest.approx([100, 200])
    assert two.edges["princess_upper"][-1] == pytest.approx(two.edges["armhole"][0])


def test_tape_eases_an_edge(sheet, marks):
    eased = taped(sheet, "side", 100, 6, 80)
    assert eased.length("side") == pytest.approx(194)
    assert marks(eased, "tape")[0].points == pytest.approx(np.array([[90, 60], [90, 140]]))
