"""Paper cut, opened and lapped: rectangles, a back and a sleeve drawn with a ruler; x outwards, y down, edges clockwise."""

import math

import numpy as np
import pytest
from shapely import Polygon

from fitcheck.pattern.lines import line
from fitcheck.pattern.moves.slash_and_spread import (
    Place,
    bust_panel_opened,
    bust_spread,
    in_a_dart,
    spread,
    straight_shoulder,
    swung,
    turned_leg,
    upper_back_opened,
    widened_upper_arm,
)
from fitcheck.pattern.piece import Piece


@pytest.fixture
def back():
    return Piece(
        "back",
        {
            "neck": line((0, 20), (60, 0)),
            "shoulder": line((60, 0), (170, 40)),
            "armhole": line((170, 40), (150, 120), (180, 200)),
            "side": line((180, 200), (180, 400)),
            "waist": line((180, 400), (0, 400)),
            "centre": line((0, 400), (0, 20)),
        },
    )


def area(piece):
    return Polygon(piece.outline).area


def test_a_quarter_turn_of_the_right_half_about_the_top(sheet):
    turned = swung(sheet, Place.on(sheet, "top", 50), Place.on(sheet, "hem", 50), np.array([50.0, 0.0]), -math.pi / 2)
    assert turned.edges["side"] == pytest.approx(np.array([[50, -50], [250, -50]]))
    assert turned.edges["centre"] == pytest.approx(sheet.edges["centre"])
    assert turned.edges["top"] == pytest.approx(np.array([[0, 0], [50, 0], [50, -50]]))
    assert turned.edges["hem"] == pytest.approx(np.array([[250, -50], [250, 0], [50, 200], [0, 200]]))


def test_a_slash_opened_ten_at_the_hem_adds_a_triangle(sheet, marks):
    hinge, mouth = np.array([50.0, 0.0]), np.array([50.0, 200.0])
    opened = spread(sheet, Place.on(sheet, "top", 50), Place.on(sheet, "hem", 50), hinge, 10, mouth, -1)
    assert opened.length("hem") == pytest.approx(110)
    assert opened.length("top") == pytest.approx(100)
    assert opened.length("side") == pytest.approx(200)
    assert area(opened) - area(sheet) == pytest.approx(5 * math.sqrt(200**2 - 5**2))
    assert opened.edges["side"][1, 0] > 109
    assert marks(opened, "hinge")[0].points[0] == pytest.approx(hinge)
    assert len(marks(opened, "gap")) == 1


def test_a_slash_lapped_ten_at_the_hem_takes_it_from_both_sides(sheet, marks):
    hinge, mouth = np.array([50.0, 0.0]), np.array([50.0, 200.0])
    lapped = spread(sheet, Place.on(sheet, "top", 50), Place.on(sheet, "hem", 50), hinge, -10, mouth, -1)
    assert lapped.length("hem") == pytest.approx(90, abs=0.3)
    assert lapped.length("side") == pytest.approx(200)
    assert area(lapped) - area(sheet) == pytest.approx(-1000, abs=5)
    assert len(marks(lapped, "lap")) == 1


def test_a_front_is_wider_at_the_bust_point_and_no_seam_changes(back, marks):
    bust = np.array([90.0, 250.0])
    wider = bust_spread(back, 12, bust)
    start, end = marks(wider, "arrow")[0].points
    assert end[0] - start[0] == pytest.approx(12)
    assert math.dist(end, (150, 120)) == pytest.approx(math.dist(bust, (150, 120)))
    assert wider.length("armhole") == pytest.approx(back.length("armhole"))
    assert wider.length("side") == pytest.approx(200)
    assert wider.edges["side"][1, 0] > 190
    assert wider.edges["shoulder"] == pytest.approx(back.edges["shoulder"])
    assert len(wider.edges["waist"]) == 2


@pytest.mark.parametrize(("amount", "longer"), [(10.0, 9.75), (-10.0, -10.21)])
def test_a_back_opened_at_the_blades_is_longer_at_the_centre_and_its_neck_sews_as_before(back, amount, longer, marks):
    """The hinge lies 150 mm out and 100 below the neck: 10 / 150 turn the neck up by 150 sin less 100 (1 - cos), in millimetres."""
    opened = upper_back_opened(back, amount)
    turn = 2 * math.asin(amount / 300)
    assert 150 * math.sin(turn) - 100 * (1 - math.cos(turn)) == pytest.approx(longer, abs=0.05)
    assert opened.length("centre") - 380 == pytest.approx(longer, abs=0.05)
    assert opened.edges["centre"][:, 0] == pytest.approx(0)
    assert opened.length("shoulder") == pytest.approx(back.length("shoulder"))
    assert opened.length("armhole") == pytest.approx(back.length("armhole"))
    if amount > 0:
        assert opened.length("neck") == pytest.approx(back.length("neck"))
        assert len(marks(opened, "dart")) == 1


def test_a_bust_panel_grows_along_its_princess_seam_only():
    panel = Piece(
        "side front",
        {
            "princess_lower": line((90, 400), (85, 250)),
            "princess_upper": line((85, 250), (140, 120)),
            "armhole": line((140, 120), (145, 160), (160, 185), (190, 200)),
            "side": line((190, 200), (190, 400)),
            "waist": line((190, 400), (90, 400)),
        },
        {"bust point": line((85, 250))},
    )
    opened = bust_panel_opened(panel, 12)
    assert opened.inner["bust point"][0, 0] == pytest.approx(73)
    assert opened.edges["princess_upper"][0] == pytest.approx(opened.inner["bust point"][0])
    assert opened.edges["princess_lower"][-1] == pytest.approx(opened.inner["bust point"][0])
    for edge in ("armhole", "side", "waist"):
        assert opened.length(edge) == pytest.approx(panel.length(edge))
    before, after = (sum(piece.length(edge) for edge in ("princess_upper", "princess_lower")) for piece in (panel, opened))
    assert after > before + 5
    assert opened.edges["princess_upper"][-1] == pytest.approx(opened.edges["armhole"][0])


def test_a_shoulder_drawn_straight_with_its_length(back):
    bent = back.with_edges(shoulder=line((60, 0), (100, 30), (140, 60)))
    straight = straight_shoulder(bent, 120)
    assert straight.edges["shoulder"] == pytest.approx(np.array([[60, 0], [156, 72]]))
    assert straight.edges["armhole"][0] == pytest.approx(back.edges["armhole"][0] + [16, 12])
    assert straight.edges["armhole"][-1] == pytest.approx([180, 200])


def test_a_dart_of_twelve_shortens_the_shoulder_by_twelve(sheet, marks):
    darted = in_a_dart(sheet, "top", 12, 0.5, 75)
    assert darted.length("top") == pytest.approx(88)
    assert marks(darted, "dart")[0].points == pytest.approx(np.array([[44, 0], [50, 75], [56, 0]]))
    assert marks(darted, "dart")[0].says == "dart {mm:12.0}"


@pytest.mark.parametrize("amount", [20.0, -20.0])
def test_a_sleeve_wider_at_the_upper_arm_keeps_every_seam_and_its_cap_sinks(amount, marks):
    sleeve = Piece(
        "sleeve",
        {
            "cap_back": line((-160, 150), (-60, 30), (0, 0)),
            "cap_front": line((0, 0), (60, 30), (160, 150)),
            "seam_front": line((160, 150), (110, 560)),
            "hem": line((110, 560), (-110, 560)),
            "seam_back": line((-110, 560), (-160, 150)),
        },
    )
    wider = widened_upper_arm(sleeve, amount)
    for edge in ("cap_back", "cap_front", "seam_front", "seam_back"):
        assert wider.length(edge) == pytest.approx(sleeve.length(edge), abs=0.01)
    underarms = wider.edges["cap_front"][-1] - wider.edges["cap_back"][0]
    assert underarms == pytest.approx([320 + amount, 0], abs=0.15)
    assert np.sign(wider.edges["cap_back"][-1, 1]) == np.sign(amount)
    start, end = marks(wider, "arrow")[0].points
    assert end[0] - start[0] == pytest.approx(amount, abs=0.01)
    assert wider.length("hem") == pytest.approx(220, abs=0.1)  # its halves turn by a degree and a half, and it is drawn straight


def test_a_leg_turned_out_below_the_knee(marks):
    leg = Piece(
        "front",
        {
            "waist": line((0, 0), (200, 0)),
            "outside": line((200, 0), (200, 500), (200, 900)),
            "hem": line((200, 900), (0, 900)),
            "inside": line((0, 900), (0, 500), (0, 0)),
        },
        {"crease": line((100, 100), (100, 900))},
    )
    turned = turned_leg(leg, "outside", 500, 900, 16)
    assert turned.edges["outside"] == pytest.approx(np.array([[200, 0], [200, 500], [216, 900]]))
    assert turned.edges["inside"] == pytest.approx(np.array([[16, 900], [0, 500], [0, 0]]))
    assert turned.length("hem") == pytest.approx(200)
    assert turned.inner["crease"] == pytest.approx(np.array([[100, 100], [100, 500], [116, 900]]))
    assert marks(turned, "cut")[0].points == pytest.approx(np.array([[200, 500], [0, 500]]))
