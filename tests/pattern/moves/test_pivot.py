"""A shoulder seam turned about one of its ends, by hand: 100 mm long, level, from 50 to 150."""

import numpy as np
import pytest

from fitcheck.pattern.lines import line
from fitcheck.pattern.moves.pivot import neck_end_raised, sloped_shoulder, turned_shoulder
from fitcheck.pattern.piece import Piece

HALF = Piece(
    "back",
    {
        "neck": line((0, 20), (50, 0)),
        "shoulder": line((50, 0), (150, 0)),
        "armhole": line((150, 0), (150, 100), (180, 200)),
        "side": line((180, 200), (180, 400)),
        "waist": line((180, 400), (0, 400)),
        "centre": line((0, 400), (0, 20)),
    },
)
CHORD_UP = 10 * (1 - 0.05**2) ** 0.5  # a point turned by a chord of 10 on a radius of 100 rises 9.99 and comes in by 0.5


@pytest.mark.parametrize("way", [1, -1])
def test_the_armhole_end_goes_up_and_the_neck_end_stays(way):
    turned = turned_shoulder(HALF, 10.0 * way)
    neck, tip = turned.edges["shoulder"]
    assert neck.tolist() == [50, 0]
    assert tip == pytest.approx([149.5, -CHORD_UP * way])
    assert turned.length("shoulder") == pytest.approx(100)
    assert turned.edges["armhole"][0] == pytest.approx(tip)
    assert turned.edges["armhole"][-1].tolist() == [180, 200]


def test_the_base_of_the_armhole_moves_as_it_is_told():
    turned = sloped_shoulder({"back": HALF}, ["back"], 10.0, {"back": np.array([0.0, -10.0])})["back"]
    assert turned.edges["shoulder"][1] == pytest.approx([149.5, -CHORD_UP])
    assert turned.edges["armhole"][-1].tolist() == [180, 190]
    assert turned.edges["side"].tolist() == [[180, 190], [180, 400]]
    assert turned.length("armhole") == pytest.approx(HALF.length("armhole"), abs=0.5)


def test_the_neck_end_goes_up_and_the_armhole_end_stays():
    turned = neck_end_raised(HALF, 6.0, 10.0)
    assert turned.edges["shoulder"][0] == pytest.approx([50.5, -CHORD_UP])
    assert turned.edges["shoulder"][1].tolist() == [150, 0]
    assert turned.edges["neck"][0].tolist() == [0, 14]
    assert turned.edges["centre"][-1].tolist() == [0, 14]


def test_the_other_half_is_its_mirror_image():
    mirrored = Piece("back", {name: points * [-1, 1] for name, points in HALF.edges.items()})
    assert turned_shoulder(mirrored, 10.0).edges["shoulder"] == pytest.approx(turned_shoulder(HALF, 10.0).edges["shoulder"] * [-1, 1])
