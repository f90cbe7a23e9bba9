"""Pieces side by side, old and new on top of each other, by two rectangles."""

import numpy as np
import pytest
from shapely import Polygon

from fitcheck.pattern.alter import Altered
from fitcheck.pattern.drafts.block import Block
from fitcheck.pattern.drawing.lay_out import FOLD, GAP_MM, MARGIN_MM, is_changed, lay_out
from fitcheck.pattern.lines import line
from fitcheck.pattern.moves.lengthen import lengthened
from fitcheck.pattern.piece import Mark, Piece, arrow


def sheet(name, wide=200.0, high=300.0):
    return Piece(
        name,
        {
            "waist": line((0, 0), (wide, 0)),
            "side": line((wide, 0), (wide, high)),
            "hem": line((wide, high), (0, high)),
            "centre": line((0, high), (0, 0)),
        },
    )


def drawn(before, after):
    pieces, changed = {one.name: one for one in before}, {one.name: one for one in after}
    return lay_out(Altered(Block(pieces, ()), changed, changed))


def of_kind(drawing, kind):
    return [stroke.points for stroke in drawing.strokes if stroke.kind == kind]


def test_more_than_a_hair_is_a_change():
    assert not is_changed(sheet("back"), sheet("back", 201))
    assert is_changed(sheet("back"), sheet("back", 202))
    assert is_changed(sheet("back"), sheet("back").with_edges(Mark("cut", line((0, 100), (200, 100)))))
    assert not is_changed(sheet("back"), sheet("back").with_edges(arrow(np.zeros(2), np.ones(2))))


def test_a_piece_that_stays_is_left_out_and_others_are_true_to_size():
    drawing = drawn([sheet("back"), sheet("front")], [sheet("back", 210), sheet("front")])
    assert [name for name, _, _ in drawing.names] == ["back"]
    (old,), (new,) = of_kind(drawing, "before"), of_kind(drawing, "after")
    assert np.ptp(old, axis=0) == pytest.approx([200, 300])
    assert np.ptp(new, axis=0) == pytest.approx([210, 300])
    assert new.min(axis=0) == pytest.approx(old.min(axis=0))  # their centre lines lie on each other
    assert new[:, 0].min() == pytest.approx(MARGIN_MM)


def test_paper_put_on_is_a_gap_and_paper_cut_off_a_lap():
    wider, narrower = drawn([sheet("back")], [sheet("back", 210)]), drawn([sheet("back")], [sheet("back", 190)])
    for drawing, kind, other in ((wider, "gap", "lap"), (narrower, "lap", "gap")):
        (area,) = of_kind(drawing, kind)
        assert Polygon(area).area == pytest.approx(3000)
        assert of_kind(drawing, other) == []
        assert of_kind(drawing, f"{kind}_hatch")


def test_two_pieces_lie_side_by_side_with_room_between():
    drawing = drawn([sheet("back"), sheet("front")], [sheet("back", 210), sheet("front", 210)])
    one, two = of_kind(drawing, "after")
    assert two[:, 0].min() - one[:, 0].max() == pytest.approx(GAP_MM)
    assert max(one[:, 0].max(), two[:, 0].max()) < drawing.width
    assert one[:, 1].min() == pytest.approx(two[:, 1].min())


def test_what_has_no_room_beside_it_lies_below():
    names = ("back", "front", "side front")
    drawing = drawn([sheet(name, 250) for name in names], [sheet(name, 260) for name in names])
    one, two, three = of_kind(drawing, "after")
    assert three[:, 1].min() > max(one[:, 1].max(), two[:, 1].max())
    assert three[:, 0].min() == pytest.approx(one[:, 0].min())
    assert three[:, 1].max() < drawing.height


def test_an_arrow_is_labelled_with_its_amount_once():
    back = lengthened(sheet("back"), 150, 12)
    drawing = drawn([sheet("back")], [back])
    assert [says for says, _, _ in drawing.labels] == [FOLD, "{cut:12.0}"]
    (head,) = of_kind(drawing, "head")
    assert head[0, 1] > head[1, 1]  # it points down, where the paper has grown to


def test_a_centre_line_says_on_the_piece_that_it_may_lie_on_the_fold():
    drawing = drawn([sheet("back")], [sheet("back", 210)])
    ((_, x, y),) = [label for label in drawing.labels if label[0] == FOLD]
    (new,) = of_kind(drawing, "after")
    assert 0 < x - new[:, 0].min() < 60
    assert new[:, 1].min() < y < new[:, 1].max()


def test_on_a_broad_page_three_pieces_lie_side_by_side_and_on_a_tall_one_below_each_other():
    names = ("back", "front", "side front")
    pieces = {name: sheet(name, 250) for name in names}
    changed = Altered(Block(pieces, ()), *({name: sheet(name, 260) for name in names},) * 2)
    broad, tall = (of_kind(lay_out(changed, room), "after") for room in ((200.0, 80.0), (80.0, 200.0)))
    assert len({float(piece[:, 1].min()) for piece in broad}) == 1
    assert len({float(piece[:, 0].min()) for piece in tall}) == 1
