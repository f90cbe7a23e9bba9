"""Seams that are sewn together keep one length, for every amount from the smallest to the largest sensible."""

from collections.abc import Iterator

import numpy as np
import pytest
from shapely import Polygon

from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import SHAPING, TapeFacts
from fitcheck.core.records import Floats
from fitcheck.pattern.alter import Altered, alter, drawn
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drawing.lay_out import is_changed
from fitcheck.pattern.piece import Pieces

BODIES = [Body(), Body.of(TapeFacts(bust=1200.0, waist=1080.0, hip=1250.0)), Body.of(TapeFacts(bust=800.0, waist=620.0, hip=880.0))]


def fronts_of(id: str) -> list[str]:
    """Every kind of front that an alteration is for."""
    return [front for front, shaping in SHAPING.items() if shaping in knowledge().alterations[id].fronts]


CASES = [(id, kind or "dress", front) for id, kind in sorted(drawn()) for front in (("dart",) if kind else fronts_of(id))]


def whole_range(id: str, kind: str, front: str, body: Body, steps: int = 3) -> Iterator[tuple[float, Altered]]:
    """Every amount, signed, on both sides and on one where the table knows one."""
    row = knowledge().alterations[id]
    for sign in (1.0, -1.0) if row.minus else (1.0,):
        for size in np.linspace(row.amounts.smallest, row.amounts.most(sign), steps):
            amount = sign * float(size)
            for one_side in {"both": (False,), "one": (True,), "either": (False, True)}[row.sides]:
                changed = alter(id, amount, body, front, kind, one_side)
                assert changed is not None, (id, kind, front)
                yield amount, changed


def test_every_alteration_is_drawn_for_everything_it_is_for() -> None:
    rows = knowledge().alterations
    assert {id for id, _ in drawn()} == set(rows)
    for id, row in rows.items():
        for kind in row.garments:
            assert (id, kind if kind in ("skirt", "trousers") else "") in drawn(), (id, kind)


@pytest.mark.parametrize(("id", "kind", "front"), CASES)
def test_seams_sewn_together_match_within_a_millimetre(id: str, kind: str, front: str) -> None:
    for body in BODIES:
        for amount, changed in whole_range(id, kind, front, body):
            seams = list(changed.seams())
            assert len(seams) >= 3
            for seam in seams:
                assert abs(seam.gap) < 1.0, (seam, amount)


@pytest.mark.parametrize("front", SHAPING)
def test_the_blocks_themselves_fit_together(front: str) -> None:
    for body in BODIES:
        for kind, id in (("dress", "forward_shoulder"), ("dress", "hem_length"), ("skirt", "hip_width"), ("trousers", "hip_width")):
            changed = alter(id, 10.0, body, front, kind)
            assert changed is not None
            for seam in changed.seams():
                ease = 12.5 if "cap" in seam.name else 0.0
                assert seam.other_before - seam.before == pytest.approx(ease, abs=0.5), seam


@pytest.mark.parametrize(("id", "kind", "front"), CASES)
def test_pieces_stay_closed_and_simple_and_the_amount_is_drawn(id: str, kind: str, front: str) -> None:
    for body in BODIES:
        for amount, changed in whole_range(id, kind, front, body, steps=2):
            told = []
            for name, piece in changed.after.items():
                edges = list(piece.edges.values())
                for one, following in zip(edges, [*edges[1:], edges[0]], strict=True):
                    assert one[-1] == pytest.approx(following[0], abs=1e-6), (name, amount)
                assert Polygon(piece.outline).buffer(0).area == pytest.approx(abs(Polygon(piece.outline).area), rel=1e-3), (name, amount)
                told += [mark.says for mark in piece.marks]
                for edge, points in piece.edges.items():
                    assert not turns_back(points), (name, edge, amount)
            shares = [abs(amount) * share for share in (1, 0.5, 0.25)]
            assert any(f"{{mm:{share:.1f}}}" in says for share in shares for says in told), (amount, told)
            assert any(is_changed(changed.block.pieces[name], piece) for name, piece in changed.after.items())


@pytest.mark.parametrize("id", [id for id, row in knowledge().alterations.items() if row.sides != "both"])
def test_on_one_side_only_nothing_changes_where_the_other_side_joins(id: str) -> None:
    row = knowledge().alterations[id]
    for kind in {kind if kind in ("skirt", "trousers") else "dress" for kind in row.garments}:
        for front in fronts_of(id):
            for size in (row.amounts.smallest, row.amounts.largest):
                changed = alter(id, size, Body(), front, kind, one_side=True)
                assert changed is not None
                for name, piece in changed.after.items():
                    edge = {"centre", "crotch"} & set(piece.edges)
                    if edge and "top" not in piece.edges:
                        (centre,) = edge
                        assert piece.length(centre) == pytest.approx(changed.block.pieces[name].length(centre), abs=1.0), (name, size)


def test_the_full_amount_stands_where_the_table_says() -> None:
    forward = altered("forward_shoulder", 10, "none")
    for name, up in (("back", -1), ("front", 1)):
        move = forward.after[name].edges["shoulder"] - forward.block.pieces[name].edges["shoulder"]
        assert np.hypot(*move[1]) == pytest.approx(10)
        assert np.sign(move[1, 1]) == up
        assert move[0] == pytest.approx([0, 0])
    assert grown(altered("sway_back", 15, "princess"), "back", "centre") == pytest.approx(-15)
    assert grown(altered("sway_back", 15, "princess"), "back", "side") == pytest.approx(0, abs=0.01)
    assert grown(altered("rounded_erect_upper_back", 20, "princess"), "back", "centre") == pytest.approx(20, rel=0.1)
    assert grown(altered("full_small_bust", 20, "dart"), "front", "waist") > 15
    assert grown(altered("narrow_broad_shoulder", 12, "dart"), "back", "shoulder") == pytest.approx(12)
    assert grown(altered("neck_width", 8, "dart"), "front", "shoulder") == pytest.approx(-8, abs=0.1)
    assert grown(altered("armhole_depth", 12, "none"), "back", "side") == pytest.approx(12, abs=0.1)
    assert grown(altered("back_neck_gape", 9, "none"), "back", "neck") == pytest.approx(-9)
    assert grown(altered("sleeve_length", 25, "none"), "sleeve", "seam_back") == pytest.approx(25, abs=0.3)
    assert grown(altered("crotch_length_back", 30, "none", "trousers"), "back", "crotch") == pytest.approx(30, rel=0.2)
    assert grown(altered("waist_width", 20, "none", "skirt"), "waistband", "back") == pytest.approx(10, abs=0.5)
    arm = altered("upper_arm", 24, "none")
    widths = [float(np.ptp(pieces["sleeve"].outline[:, 0])) for pieces in (arm.block.pieces, arm.after)]
    assert widths[1] - widths[0] == pytest.approx(24, abs=0.5)


def test_a_wedge_shut_at_the_armhole_opens_the_dart_by_its_angle() -> None:
    changed = altered("armhole_gape", 15, "dart")

    def mouth(pieces: Pieces) -> float:
        legs = pieces["front"].edges
        return float(np.hypot(*(legs["dart_upper"][0] - legs["dart_lower"][1])))

    assert mouth(changed.after) - mouth(changed.block.pieces) > 10


def test_what_only_one_kind_of_front_needs_is_said_for_it_alone() -> None:
    assert "lower edge slants" in altered("full_small_bust", 20, "none").note
    assert altered("full_small_bust", 20, "dart").note == ""


def test_nothing_is_drawn_of_what_is_no_alteration_or_not_for_this_front() -> None:
    assert alter("nosuch", 10, Body(), "dart") is None
    assert alter("bust_point_span", 10, Body(), "none") is None


def turns_back(points: Floats) -> bool:
    """Whether a seam line runs back on itself anywhere, by more than a hair."""
    steps = np.diff(points, axis=0)
    long = np.hypot(*steps.T)
    steps, long = steps[long > 0.3], long[long > 0.3]
    return bool(((steps[:-1] * steps[1:]).sum(axis=1) < -0.5 * long[:-1] * long[1:]).any())


def altered(id: str, amount: float, front: str, kind: str = "dress") -> Altered:
    changed = alter(id, amount, Body(), front, kind)
    assert changed is not None
    return changed


def grown(changed: Altered, piece: str, edge: str) -> float:
    return changed.after[piece].length(edge) - changed.block.pieces[piece].length(edge)
