"""Seams that are sewn together keep one length, for every amount from the smallest to the largest sensible."""

import numpy as np
import pytest
from shapely import Polygon

from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import TapeFacts
from fitcheck.pattern.alter import alter, drawn
from fitcheck.pattern.block import Body

BODIES = [Body(), Body.of(TapeFacts(bust=1200.0, waist=1080.0, hip=1250.0)), Body.of(TapeFacts(bust=800.0, waist=620.0, hip=880.0))]
CASES = sorted((id, front or "none") for id, front in drawn())


@pytest.mark.parametrize(("id", "front"), CASES)
def test_seams_sewn_together_match_within_a_millimetre(id: str, front: str) -> None:
    row = knowledge().alterations[id]
    for body in BODIES:
        for size in np.linspace(row.amounts.smallest, row.amounts.largest, 7):
            for amount in (size, -size) if row.minus else (size,):
                changed = alter(id, float(amount), body, front)
                assert changed is not None
                assert len(changed.mismatches()) >= 1
                assert max(map(abs, changed.mismatches())) < 1.0


@pytest.mark.parametrize(("id", "front"), CASES)
def test_pieces_stay_closed_and_simple_and_something_changes(id: str, front: str) -> None:
    row = knowledge().alterations[id]
    for size in (row.amounts.smallest, row.amounts.usual[1], row.amounts.largest):
        for amount in (size, -size) if row.minus else (size,):
            changed = alter(id, float(amount), Body(), front)
            assert changed is not None
            moved = 0.0
            for name, piece in changed.after.items():
                edges = list(piece.edges.values())
                for one, following in zip(edges, [*edges[1:], edges[0]], strict=True):
                    assert one[-1] == pytest.approx(following[0], abs=1e-6), (name, amount)
                assert Polygon(piece.outline).buffer(0).area == pytest.approx(Polygon(piece.outline).area, rel=1e-3)
                moved = max(
                    moved,
                    *(
                        float(abs(piece.edges[e] - o).max())
                        for e, o in changed.before[name].edges.items()
                        if o.shape == piece.edges[e].shape
                    ),
                )
            assert 0.4 * size < moved < 2.6 * size


def test_the_full_amount_stands_where_the_table_says() -> None:
    body = Body()
    forward = alter("forward_shoulder", 10, body, "princess")
    assert forward is not None
    for name, up in (("back", -1), ("front", 1)):
        move = forward.after[name].edges["shoulder"] - forward.before[name].edges["shoulder"]
        assert np.hypot(*move[1]) == pytest.approx(10)
        assert np.sign(move[1, 1]) == up
        assert move[0] == pytest.approx([0, 0])
    sway = alter("sway_back", 15, body, "princess")
    assert sway is not None
    assert sway.after["back"].length("centre") - sway.before["back"].length("centre") == pytest.approx(-15)
    assert sway.after["back"].edges["side"] == pytest.approx(sway.before["back"].edges["side"])
    back = alter("rounded_erect_upper_back", 20, body, "princess")
    assert back is not None
    assert back.after["back"].length("centre") - back.before["back"].length("centre") == pytest.approx(20, rel=0.1)
    bust = alter("full_small_bust", 20, body, "dart")
    assert bust is not None
    assert bust.after["front"].length("waist") - bust.before["front"].length("waist") > 15


def test_nothing_is_drawn_of_what_there_is_no_draft_for() -> None:
    assert alter("neckline_gape", 10, Body(), "dart") is None
