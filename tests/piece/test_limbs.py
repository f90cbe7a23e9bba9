"""Sleeves and trousers of her own altered, by lengths and places that a ruler on paper could check."""

from dataclasses import replace

import numpy as np
import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice, skirt, sleeve, trousers
from shapely import LineString, Point, Polygon

from fitcheck.core.errors import UsageError
from fitcheck.piece.altering import alter_own
from fitcheck.piece.own_piece import OwnPiece

SLEEVE = as_read(sleeve(1.0, 0.0))
LEG = as_read(trousers(1.0, 0.0))
LONG_LEG = as_read(trousers(1.0, 0.0, long=980.0))
CUT_SLEEVE = as_read(sleeve(1.0, 15.0))


def long(points):
    return LineString(points).length


def altered(piece: OwnPiece, id: str, amount: float) -> OwnPiece:
    (found,) = alter_own([piece], id, amount).pieces
    assert Polygon(found.after.outline).is_valid
    assert found.after.done == ((id, amount),)
    assert list(found.after.edges) == list(piece.edges)
    return found.after


def test_a_longer_sleeve_is_longer_by_that_and_its_cap_stays():
    after = altered(SLEEVE, "sleeve_length", 30.0)
    assert after.edges["wrist"][0, 1] - SLEEVE.edges["wrist"][0, 1] == pytest.approx(30.0, abs=0.01)
    np.testing.assert_allclose(after.edges["cap"][[0, -1]], SLEEVE.edges["cap"][[0, -1]], atol=0.01)
    assert long(after.edges["wrist"]) == pytest.approx(long(SLEEVE.edges["wrist"]), abs=0.01)


def test_a_wider_wrist_gets_half_at_each_end():
    after = altered(SLEEVE, "wrist_width", 20.0)
    assert long(after.edges["wrist"]) == pytest.approx(long(SLEEVE.edges["wrist"]) + 20, abs=0.01)
    assert after.edges["wrist"][0, 0] - SLEEVE.edges["wrist"][0, 0] == pytest.approx(10, abs=0.01)


@pytest.mark.parametrize("piece", [SLEEVE, CUT_SLEEVE])
def test_a_wider_upper_arm_keeps_the_cap_and_both_seams(piece):
    after = altered(piece, "upper_arm", 25.0)
    old, new = piece.seam_lines(), after.seam_lines()
    width = [np.ptp(lines["cap"][[0, -1], 0]) for lines in (old, new)]
    assert width[1] - width[0] == pytest.approx(25.0, abs=1.0)
    for name in ("cap", "underarm_1", "underarm_2"):
        assert long(new[name]) == pytest.approx(long(old[name]), abs=1.0), name


def test_a_turned_sleeve_keeps_its_form_and_its_notches_move_to_the_front():
    after = altered(SLEEVE, "sleeve_pitch", 10.0)
    np.testing.assert_allclose(after.outline, SLEEVE.outline, atol=0.01)
    for old, new in zip(SLEEVE.notches, after.notches, strict=True):
        assert new[0] > old[0] + 3  # the front is at the right
        cap = LineString(SLEEVE.edges["cap"])
        assert cap.project(Point(*new)) - cap.project(Point(*old)) == pytest.approx(10.0, abs=0.2)


def test_the_cap_follows_an_armhole_that_was_read_too():
    front, back = (as_read(bodice(name, 1.0, 0.0, True, name == "front")) for name in ("front", "back"))
    found = alter_own([front, back, SLEEVE], "armhole_depth", -10.0)
    assert {one.after.name for one in found.pieces} == {"front", "back", "sleeve"}
    before, after = ({one.after.name: getattr(one, when) for one in found.pieces} for when in ("before", "after"))
    grown = sum(long(after[name].edges["armhole"]) - long(before[name].edges["armhole"]) for name in ("front", "back"))
    assert long(after["sleeve"].edges["cap"]) - long(SLEEVE.edges["cap"]) == pytest.approx(grown, abs=1.0)
    assert abs(grown) > 5
    assert any("cap back" in seam.name for seam in found.seams)


def test_a_front_without_its_sleeve_still_gets_another_armhole():
    front = as_read(bodice("front", 1.0, 0.0, True, True))
    after = altered(front, "armhole_depth", -10.0)
    assert after.edges["armhole"][-1, 1] - front.edges["armhole"][-1, 1] == pytest.approx(10.0, abs=1.5)


def test_what_is_done_on_the_sleeve_needs_the_sleeve():
    with pytest.raises(UsageError, match="needs the sleeve"):
        alter_own([as_read(bodice("front", 1.0, 0.0, True, True))], "upper_arm", 20.0)


def test_deeper_trousers_are_longer_at_the_crotch():
    after = altered(LEG, "crotch_depth", 20.0)
    assert after.edges["crotch"][0, 1] - LEG.edges["crotch"][0, 1] == pytest.approx(20.0, abs=0.1)
    assert long(after.edges["inseam"]) == pytest.approx(long(LEG.edges["inseam"]), abs=0.1)
    assert long(after.edges["side"]) == pytest.approx(long(LEG.edges["side"]) + 20, abs=0.5)


def test_short_trousers_become_longer_by_the_whole_amount():
    after = altered(LEG, "hem_length", 30.0)
    assert after.edges["hem"][:, 1].mean() - LEG.edges["hem"][:, 1].mean() == pytest.approx(30.0, abs=0.1)


def test_a_waist_is_let_out_at_the_side_by_half():
    after = altered(LEG, "waist_width", 20.0)
    assert long(after.edges["waist"]) == pytest.approx(long(LEG.edges["waist"]) + 10, abs=0.2)


def test_a_longer_front_crotch_has_half_at_the_fork_and_keeps_the_inseam():
    """The other half is opened across the abdomen, to nothing at the side, which raises the waist at the centre by about as much."""
    after = altered(LEG, "crotch_length_front", 15.0)
    assert after.edges["crotch"][0, 0] - LEG.edges["crotch"][0, 0] == pytest.approx(-7.5, abs=0.01)
    assert LEG.edges["waist"][0, 1] - after.edges["waist"][0, 1] == pytest.approx(7.5, abs=0.5)
    assert long(after.edges["side"]) == pytest.approx(long(LEG.edges["side"]), abs=0.5)
    assert long(after.edges["inseam"]) == pytest.approx(long(LEG.edges["inseam"]), abs=0.5)


def test_a_wider_calf_is_for_legs_that_have_one():
    with pytest.raises(UsageError, match="end above the calf"):
        alter_own([LEG], "calf_width", 20.0)
    after = altered(LONG_LEG, "calf_width", 20.0)
    assert after.area_mm2() > LONG_LEG.area_mm2()


def test_trousers_alone_are_told_what_the_other_half_must_do():
    says = " ".join(alter_own([LEG], "hem_length", 30.0).says)
    assert "The side of the trousers front becomes" in says
    assert "The inseam of the trousers front becomes" in says


def test_a_short_skirt_becomes_longer_by_the_whole_amount():
    piece = replace(as_read(skirt("skirt", 1.0, 0.0, True, length=420.0)), name="skirt_front")
    after = altered(piece, "hem_length", 40.0)
    assert after.edges["hem"][:, 1].mean() - piece.edges["hem"][:, 1].mean() == pytest.approx(40.0, abs=0.5)


def test_a_sleeve_whose_edges_have_no_names_is_told_so():
    with pytest.raises(UsageError, match="has no edge named cap"):
        alter_own([replace(SLEEVE, edges={f"edge_{k}": line for k, line in enumerate(SLEEVE.edges.values())})], "wrist_width", 10.0)
