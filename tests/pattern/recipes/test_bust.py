"""A cup is given where the bust is, and as much as was asked for; checked with a ruler on the pieces."""

import numpy as np
import pytest
from shapely import LineString, Polygon

from fitcheck.core.fitting import SHAPING, Front
from fitcheck.pattern.alter import Altered, alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.piece import Piece

PRINCESS = [front for front, shaping in SHAPING.items() if shaping == "princess"]
DARTED = [front for front, shaping in SHAPING.items() if shaping == "dart"]


def cup(amount: float, front: Front, one_side: bool = False) -> Altered:
    changed = alter("full_small_bust", amount, Body(), front, one_side=one_side)
    assert changed is not None
    return changed


def width_at(piece: Piece, level: float) -> float:
    """A ruler laid across a piece."""
    return float(Polygon(piece.outline).intersection(LineString([(-900, level), (900, level)])).length)


def at_bust(piece: Piece) -> float:
    return width_at(piece, float(piece.inner["bust point"][0, 1]) + 0.01)


@pytest.mark.parametrize("front", PRINCESS)
@pytest.mark.parametrize("amount", [20.0, -15.0, 6.0])
def test_two_centimetres_asked_are_two_centimetres_at_the_bust_most_of_it_on_the_side_front(front: Front, amount: float) -> None:
    changed = cup(amount, front)
    before, after = changed.block.pieces, changed.after
    centre, side = (at_bust(after[name]) - at_bust(before[name]) for name in ("centre front", "side front"))
    assert centre + side == pytest.approx(amount, abs=1.0)
    assert side / amount > 0.6
    assert centre / amount > 0.1


@pytest.mark.parametrize("front", PRINCESS)
@pytest.mark.parametrize("amount", [20.0, -15.0, 80.0])
def test_a_princess_cup_changes_nothing_at_shoulder_armhole_and_waist_and_both_seams_match(front: Front, amount: float) -> None:
    changed = cup(amount, front)
    before, after = changed.block.pieces, changed.after
    for name in ("centre front", "side front"):
        for edge in after[name].edges:
            if not edge.startswith(("princess", "centre")):
                assert after[name].length(edge) == pytest.approx(before[name].length(edge), abs=1.0), (name, edge)
    for edge in ("princess_upper", "princess_lower"):
        assert after["centre front"].length(edge) == pytest.approx(after["side front"].length(edge), abs=1.0)
    longer = after["centre front"].length("centre") - before["centre front"].length("centre")
    assert np.sign(longer) == np.sign(amount)


def test_on_one_side_the_centre_line_of_a_princess_front_keeps_its_length() -> None:
    changed = cup(20, "princess", one_side=True)
    lengths = [pieces["centre front"].length("centre") for pieces in (changed.block.pieces, changed.after)]
    assert lengths[1] == pytest.approx(lengths[0], abs=0.5)


def test_the_side_front_opens_along_its_own_cuts() -> None:
    side = cup(20, "princess").after["side front"]
    gaps = sum(Polygon(mark.points).area for mark in side.marks if mark.kind == "gap")
    grown = Polygon(side.outline).area - Polygon(cup(20, "princess").block.pieces["side front"].outline).area
    assert gaps == pytest.approx(grown, rel=0.2)


@pytest.mark.parametrize("amount", [20.0, -15.0])
def test_a_darted_front_is_wider_by_what_was_asked_below_the_dart(amount: float) -> None:
    changed = cup(amount, "dart")
    low = [pieces["front"].edges["side_lower"][0, 1] + 30 for pieces in (changed.block.pieces, changed.after)]
    widths = [width_at(pieces["front"], level) for pieces, level in zip((changed.block.pieces, changed.after), low, strict=True)]
    assert widths[1] - widths[0] == pytest.approx(amount, abs=0.5)


@pytest.mark.parametrize("front", SHAPING)
@pytest.mark.parametrize("amount", [80.0, 60.0, -25.0, -40.0])
def test_cups_of_eight_centimetres_a_half_can_be_drawn(front: Front, amount: float) -> None:
    for one_side in (False, True):
        changed = cup(amount, front, one_side)
        for name, piece in changed.after.items():
            drawn = Polygon(piece.outline)
            assert drawn.buffer(0).area == pytest.approx(abs(drawn.area), rel=1e-3), name
        for seam in changed.seams():
            assert abs(seam.gap) < 1.0, seam


@pytest.mark.parametrize("front", DARTED)
def test_a_cup_taken_off_shuts_the_dart_and_then_laps_the_front(front: Front) -> None:
    legs = [name for name in cup(-10, front).after["front"].edges if name.startswith("dart")]

    def mouth(amount: float) -> float:
        edges = cup(amount, front).after["front"].edges
        return float(np.hypot(*(edges[legs[0]][0] - edges[legs[1]][-1])))

    assert mouth(20) > mouth(10) > mouth(-10) > 5
    assert mouth(-30) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("amount", [15.0, -15.0])
def test_a_bust_point_that_moves_leaves_the_shoulder_of_a_shoulder_princess_where_it_is(amount):
    changed = alter("bust_point_height", amount, Body(), "shoulder_princess")
    for name in ("centre front", "side front"):
        before, after = changed.block.pieces[name], changed.after[name]
        for end in (0, -1):
            assert np.hypot(*(after.edges["shoulder"][end] - before.edges["shoulder"][end])) < 1.0
        assert after.inner["bust point"][0, 1] - before.inner["bust point"][0, 1] == pytest.approx(-amount, abs=0.1)


@pytest.mark.parametrize("amount", [12.0, -12.0])
def test_a_chest_is_widened_at_the_shoulder_princess_seam_half_on_each_panel(amount):
    changed = alter("chest_width", amount, Body(), "shoulder_princess")
    for name, way in (("centre front", 1), ("side front", -1)):
        old, new = (
            points[np.argsort(points[:, 1])]
            for points in (changed.block.pieces[name].edges["princess_upper"], changed.after[name].edges["princess_upper"])
        )
        levels = np.linspace(old[0, 1] + 2, old[-1, 1] - 2, 80)
        out = way * (np.interp(levels, *new.T[::-1]) - np.interp(levels, *old.T[::-1]))
        assert out[np.abs(out).argmax()] == pytest.approx(amount / 2, abs=0.4)
        assert abs(out[[0, -1]]).max() < 1.0
        assert changed.after[name].length("shoulder") == pytest.approx(changed.block.pieces[name].length("shoulder"), abs=0.5)
