"""Skirts and trousers by hand: a flat seat is shortened and never scooped; a waist that sits low is raised, the crotch left alone."""

import numpy as np
import pytest
from shapely import LineString, Polygon

from fitcheck.advice.table import knowledge
from fitcheck.pattern.alter import Altered, alter
from fitcheck.pattern.drafts.block import Body


def altered(id: str, amount: float, kind: str) -> Altered:
    changed = alter(id, amount, Body(), "none", kind)
    assert changed is not None
    return changed


def grown(changed: Altered, piece: str, edge: str) -> float:
    return changed.after[piece].length(edge) - changed.block.pieces[piece].length(edge)


def test_a_flat_seat_is_shortened_at_the_centre_back_and_at_the_end_of_the_crotch_seam() -> None:
    changed = altered("flat_seat", 12.0, "trousers")
    shorter = grown(changed, "back", "crotch")  # by what is folded out and, as the curve runs aslant there, by some of what is off its end
    assert -12 - 6 < shorter < -12 - 3
    assert shorter == pytest.approx(knowledge().alterations["flat_seat"].effects.per_10["crotch_short_back"] * 1.2, abs=1)
    assert grown(changed, "back", "outside") == pytest.approx(0, abs=0.1)
    assert grown(changed, "back", "inside") == pytest.approx(0, abs=0.1)
    fork = changed.after["back"].edges["inside"][-1] - changed.block.pieces["back"].edges["inside"][-1]
    assert fork[0] == pytest.approx(6)  # shorter: towards the centre
    assert changed.after["front"].edges["crotch"] == pytest.approx(changed.block.pieces["front"].edges["crotch"])


def test_a_flat_seat_is_never_scooped() -> None:
    """Nowhere does the new crotch curve lie more than a hair inside the old paper: what is scooped cannot be undone."""
    for amount in (5.0, 12.0, 30.0):
        changed = altered("flat_seat", amount, "trousers")
        old, new = (pieces["back"].edges["crotch"] for pieces in (changed.block.pieces, changed.after))
        below = new[new[:, 1] > old[0, 1] - 60]  # the curve under the seat
        cut_away = [Polygon(changed.block.pieces["back"].outline).boundary.distance(LineString([p, p + 1e-6])) for p in below]
        assert max(cut_away) < 0.5 * amount + 1.5  # as far as its end has moved, and no deeper
        assert below[:, 1].max() <= old[:, 1].max() + 0.5


@pytest.mark.parametrize("kind", ["skirt", "trousers"])
@pytest.mark.parametrize("amount", [12.0, -12.0])
def test_a_waist_that_sits_low_all_around_is_raised_and_nothing_else_changes(kind: str, amount: float) -> None:
    changed = altered("waist_level", amount, kind)
    side, inner = ("outside", "crotch") if kind == "trousers" else ("side", "centre")
    for name in ("back", "front"):
        assert grown(changed, name, side) == pytest.approx(amount, abs=0.5)
        assert grown(changed, name, inner) == pytest.approx(amount, abs=0.1)
        before, after = changed.block.pieces[name], changed.after[name]
        assert after.edges["hem"] == pytest.approx(before.edges["hem"])
        if kind == "trousers":
            assert after.edges["inside"] == pytest.approx(before.edges["inside"])
            assert after.edges["crotch"][0] == pytest.approx(before.edges["crotch"][0])  # the depth below the body stays


@pytest.mark.parametrize(("id", "level"), [("thigh_width", 372.5), ("calf_width", 720.0)])
def test_a_leg_is_wider_by_the_amount_front_and_back_together(id: str, level: float) -> None:
    changed = altered(id, 24.0, "trousers")
    more = 0.0
    for sign, pieces in ((-1, changed.block.pieces), (1, changed.after)):
        for name in ("back", "front"):
            leg = Polygon(pieces[name].outline).intersection(LineString([(-900, level), (900, level)]))
            more += sign * leg.length
    assert more == pytest.approx(24, abs=0.5)


@pytest.mark.parametrize("kind", ["skirt", "trousers"])
def test_the_hip_curve_moves_up_and_its_widest_place_keeps_its_width(kind: str) -> None:
    changed = altered("hip_level", 25.0, kind)
    edge = "side" if kind == "skirt" else "outside"
    for name in ("back", "front"):
        old, new = changed.block.pieces[name].edges[edge], changed.after[name].edges[edge]
        wide = float(np.interp(200.0, old[:, 1], old[:, 0]))
        assert float(np.interp(175.0, new[:, 1], new[:, 0])) == pytest.approx(wide, abs=0.5)
        notch = next(mark.points for mark in changed.after[name].marks if mark.kind == "notch")
        assert notch[0] == pytest.approx([wide, 175], abs=0.5)
