"""Alterations on pieces of her own, by cases that a ruler on paper could check."""

import numpy as np
import pytest
from piece.own_pieces import as_read
from scenes.sheets.drafted import bodice
from shapely import LineString, Polygon

from fitcheck.core.errors import UsageError
from fitcheck.piece.altering import alter_own


def long(points):
    return LineString(points).length


FRONT = as_read(bodice("front", 1.0, 0.0, True, True))
BACK = as_read(bodice("back", 1.0, 0.0, True, False))
CUT_FRONT = as_read(bodice("front", 1.0, 15.0, True, True))


def test_seam_lines_lie_an_allowance_inside_but_at_the_fold():
    drafted = bodice("front", 1.0, 15.0, True, True)
    seams = CUT_FRONT.seam_lines()
    for name in ("neck", "shoulder", "armhole", "waist", "centre"):
        assert long(seams[name]) == pytest.approx(long(drafted.edges[name]), abs=1.0), name


def test_a_forward_shoulder_takes_10_mm_off_the_front_at_the_armhole_and_nothing_at_the_neck():
    found = alter_own([FRONT, BACK], "forward_shoulder", 10.0)
    assert {one.after.name for one in found.pieces} == {"front", "back"}
    front = next(one for one in found.pieces if one.after.name == "front")
    old, new = front.before.edges["shoulder"], front.after.edges["shoulder"]
    np.testing.assert_allclose(new[0], old[0], atol=0.05)
    assert float(np.hypot(*(new[-1] - old[-1]))) == pytest.approx(10.0, abs=0.1)
    assert new[-1, 1] > old[-1, 1] + 8  # lower on paper: taken off
    back = next(one for one in found.pieces if one.after.name == "back")
    assert back.after.edges["shoulder"][-1, 1] < back.before.edges["shoulder"][-1, 1] - 8  # added


def test_seams_that_meet_keep_their_length_within_a_millimetre():
    for id, amount in (
        ("forward_shoulder", 10.0),
        ("waist_length_front", 15.0),
        ("full_small_bust", 20.0),
        ("square_sloping_shoulder", 8.0),
    ):
        for seam in alter_own([FRONT, BACK], id, amount).seams:
            assert abs(seam.gap) < 1.0, (id, seam)


def test_a_piece_alone_is_told_what_its_neighbours_must_do():
    says = " ".join(alter_own([FRONT], "full_small_bust", 20.0).says)
    assert "waist of the front becomes" in says
    assert "longer" in says


def test_a_fuller_bust_adds_the_width_at_the_waist_and_widens_the_dart():
    front = alter_own([FRONT], "full_small_bust", 20.0).pieces[0]
    assert long(front.after.edges["waist"]) - long(front.before.edges["waist"]) == pytest.approx(20.0, abs=1.0)
    wide = [float(np.hypot(*(piece.darts[0][0] - piece.darts[0][2]))) for piece in (front.before, front.after)]
    assert wide[1] > wide[0] + 8
    legs = [[float(np.hypot(*(piece.darts[0][i] - piece.darts[0][1]))) for i in (0, 2)] for piece in (front.before, front.after)]
    assert legs[1] == pytest.approx(legs[0], abs=0.5)


def test_a_longer_front_waist_moves_the_waist_down_and_leaves_the_neck():
    front = next(one for one in alter_own([FRONT, BACK], "waist_length_front", 15.0).pieces if one.after.name == "front")
    np.testing.assert_allclose(front.after.edges["neck"], front.before.edges["neck"], atol=0.05)
    assert front.after.edges["centre"][0, 1] - front.before.edges["centre"][0, 1] == pytest.approx(15.0, abs=0.1)


@pytest.mark.parametrize("piece", [FRONT, CUT_FRONT])
def test_what_comes_back_is_a_sound_piece_with_its_allowance(piece):
    after = alter_own([piece], "full_small_bust", 15.0).pieces[0].after
    outline = Polygon(after.outline)
    assert outline.is_valid
    names = list(after.edges)
    for one, two in zip(names, [*names[1:], names[0]], strict=True):
        np.testing.assert_allclose(after.edges[one][-1], after.edges[two][0], atol=0.01)
    seam = Polygon(after.seam_outline())
    assert outline.area > seam.area - 1
    if piece.allowance_mm:
        for name in ("armhole", "neck"):
            far = [LineString(after.seam_lines()[name]).distance(LineString([p, p + 1e-6])) for p in after.edges[name][2:-2]]
            assert np.median(far) == pytest.approx(15.0, abs=0.2)


def test_nothing_happens_twice_and_what_was_done_is_kept():
    after = alter_own([FRONT], "full_small_bust", 15.0).pieces[0].after
    assert after.done == (("full_small_bust", 15.0),)
    again = alter_own([after], "full_small_bust", 5.0).pieces[0].after
    assert again.done == (("full_small_bust", 15.0), ("full_small_bust", 5.0))


@pytest.mark.parametrize(("id", "says"), [("no_such", "not known"), ("leg_line", "not for this piece"), ("upper_arm", "needs the sleeve")])
def test_what_cannot_be_done_is_said(id, says):
    with pytest.raises(UsageError, match=says):
        alter_own([FRONT], id, 10.0)


@pytest.mark.parametrize("allowance", [0.0, 10.0, 15.0])
@pytest.mark.parametrize(
    "id", ["forward_shoulder", "narrow_broad_shoulder", "square_sloping_shoulder", "full_small_bust", "waist_length_front"]
)
def test_the_cutting_line_keeps_its_allowance_all_round(id, allowance):
    """Seam lines of the altered piece, taken off its cutting line, are as long as the operations left them."""
    pieces = [as_read(bodice(name, 1.0, allowance, True, name == "front")) for name in ("front", "back")]
    found = alter_own(pieces, id, 10.0)
    assert found.pieces
    for one in found.pieces:
        wanted, seams = found.changed.after[one.after.name].edges, one.after.seam_lines()
        for edge in seams:
            if edge in wanted and not edge.startswith("side"):
                assert long(seams[edge]) == pytest.approx(long(wanted[edge]), abs=0.5), (one.after.name, edge)
        inside, outside = Polygon(one.after.seam_outline()), Polygon(one.after.outline)
        if allowance:
            low = LineString(one.after.edges["waist"])
            assert low.distance(LineString(seams["waist"])) == pytest.approx(allowance, abs=0.3)
            side = next(edge for edge in ("side_lower", "side") if edge in seams)
            assert LineString(one.after.edges[side]).distance(LineString(seams[side])) == pytest.approx(allowance, abs=0.3)
            assert outside.buffer(0.01).contains(inside)
