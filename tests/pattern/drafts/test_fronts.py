"""Where the cup lies does not change what the seams measure; checked by hand-worked lengths of a schoolbook figure."""

import math

import numpy as np
import pytest
from shapely import LineString, Polygon

from fitcheck.core.fitting import SHAPING, Front
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Block, Body
from fitcheck.pattern.drafts.bodice import DRAFTED_MM, as_worn, bodice
from fitcheck.pattern.drafts.fronts import SHAPES
from fitcheck.pattern.drawing.dart import mouth_width

BODIES = [Body(), Body(bust=1200, waist=1080, hip=1250), Body(bust=800, waist=620, hip=880)]


def block(front: Front, body: Body, below: float = 0.0) -> Block:
    return as_worn(bodice(body, front, below), front, body)


@pytest.mark.parametrize("front", SHAPING)
def test_the_block_has_the_girths_of_the_figure_and_common_ease(front: Front) -> None:
    for body in BODIES:
        worn = block(front, body)
        back = Polygon(worn.pieces["back"].outline).intersection(LineString([(-900, body.bust_level), (900, body.bust_level)])).length
        ease = 2 * (at_bust(worn, body) + back) - body.bust
        assert 60 <= ease <= 80, (body, ease)  # common practice: 6 to 8 cm


def at_bust(worn: Block, body: Body) -> float:
    """Half the front with a ruler across the bust point, on both panels; a dart is moved to the waist, out of its way."""
    pieces = [piece for name, piece in worn.pieces.items() if name.endswith("front")]
    if len(pieces) == 1 and pieces[0].edges_named("dart"):
        pieces = [block("waist_dart", body).pieces["front"]]
    ruler = LineString([(-900, body.bust_level - 0.01), (900, body.bust_level - 0.01)])
    return sum(float(Polygon(piece.outline).intersection(ruler).length) for piece in pieces)


@pytest.mark.parametrize("front", SHAPES)
def test_shoulder_armhole_side_and_neck_measure_what_they_did_with_the_side_dart(front: Front) -> None:
    for body in BODIES:
        for below in (0.0, 260.0):
            if front == "waist_dart" and below:
                continue  # without a waist seam there is no side dart to be moved there
            old, new = bodice(body, "dart", below).pieces["front"], block(front, body, below)
            for edge in ("neck", "shoulder", "armhole", "side", "centre"):
                lengths = [piece.length(name) for piece in new.pieces.values() for name in piece.edges_named(edge) if "front" in piece.name]
                assert sum(lengths) == pytest.approx(sum(old.length(name) for name in old.edges_named(edge)), abs=0.01), (front, edge)


def test_a_dart_keeps_its_angle_so_its_mouth_is_as_wide_as_its_legs_are_long() -> None:
    body = Body()
    intakes = {}
    for front in ("dart", "waist_dart", "french_dart", "shoulder_dart"):
        piece = block(front, body).pieces["front"]
        leg = piece.edges[piece.edges_named("dart")[0]]
        intakes[front] = mouth_width(piece) / (2 * math.dist(leg[0], leg[-1]))
    assert np.ptp(list(intakes.values())) < 1e-6


def test_the_dart_takes_in_what_geometry_says_of_a_figure() -> None:
    """5 cm between full and high bust are 2.5 cm a half. Turned about an armhole notch 13 cm from the bust point, which lies half as far
    aside as below, that is 13 to 14 degrees, and at the end of legs 15 cm long a dart of 3.5 cm."""
    piece = block("dart", Body()).pieces["front"]
    assert DRAFTED_MM == 25
    assert mouth_width(piece) == pytest.approx(35, abs=4)


@pytest.mark.parametrize(
    ("front", "least", "most"), [("dart", 8, 14), ("french_dart", 9, 17), ("waist_dart", 10, 16), ("shoulder_dart", 12, 22)]
)
def test_intake_per_centimetre_of_cup(front: Front, least: float, most: float) -> None:
    """From geometry: a dart grows by the spread times the length of its leg over the height of the notch above the bust (11 to 12 cm):
    legs of 14 to 15 cm at the side, 17 at the waist, 18 low at the side, 23 to the shoulder."""
    widths = []
    for amount in (5.0, 15.0):
        changed = alter("full_small_bust", amount, Body(), front)
        assert changed is not None
        widths.append(mouth_width(changed.after["front"]))
    assert least < widths[1] - widths[0] < most


def test_a_waist_dart_without_a_waist_seam_has_two_points() -> None:
    front = block("waist_dart", Body(), 260.0).pieces["front"]
    contour = front.inner["contour dart"]
    assert contour[0] == pytest.approx(contour[-1])
    assert np.ptp(contour[:, 0]) == pytest.approx(24)
    assert not front.edges_named("dart")
    assert all(x == pytest.approx(95) for x in contour[[0, 2], 0])


def test_a_dart_at_the_waist_or_shoulder_lies_over_the_bust_point() -> None:
    waist, shoulder = (block(front, Body()).pieces["front"].edges for front in ("waist_dart", "shoulder_dart"))
    assert waist["dart_inner"][:, 0] == pytest.approx([95, 95], abs=1)
    assert math.dist(shoulder["shoulder"][0], shoulder["shoulder"][-1]) == pytest.approx(Body().shoulder / 2, abs=0.5)
