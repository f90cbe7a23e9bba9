"""Notches meet where edges are sewn, before and after an alteration; fills differ without colour."""

import numpy as np
import pytest
from shapely import LineString, Polygon

from fitcheck.core.fitting import SHAPING
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drawing.hatch import hatched
from fitcheck.pattern.drawing.lay_out import lay_out
from fitcheck.pattern.drawing.markings import markings
from fitcheck.pattern.lines import nearest_along
from fitcheck.pattern.piece import Piece, Pieces


def notches(piece: Piece, pieces: Pieces, edge: str) -> list[float]:
    """How far along an edge its notches lie, from its start."""
    points = piece.edges[edge]
    lines = [line for kind, line in markings(piece, pieces) if kind == "balance"]
    return sorted(nearest_along(points, line[0]) for line in lines if LineString(points).distance(LineString(line[:1].repeat(2, 0))) < 0.1)


@pytest.mark.parametrize("front", SHAPING)
@pytest.mark.parametrize("id", ["armhole_depth", "forward_shoulder", "narrow_broad_shoulder"])
def test_armhole_and_cap_are_matched_as_far_from_the_underarm(id: str, front: str) -> None:
    changed = alter(id, 10, Body(), front)
    assert changed is not None
    for pieces in (changed.block.pieces, changed.after):
        back, sleeve = pieces["back"], pieces["sleeve"]
        from_underarm = [back.length("armhole") - along for along in notches(back, pieces, "armhole")]
        cap = notches(sleeve, pieces, "cap_back")
        assert sorted(from_underarm) == pytest.approx([along for along in cap if along < sleeve.length("cap_back") - 1], abs=0.5)
        fronts = [piece for name, piece in pieces.items() if name.endswith("front") and "armhole" in piece.edges]
        single = [far for piece in fronts for far in notches(piece, pieces, "armhole") if 0 < far < piece.length("armhole") - 1]
        assert len(single) == 1


def test_both_panels_have_a_notch_at_the_bust() -> None:
    changed = alter("full_small_bust", 20, Body(), "princess")
    assert changed is not None
    for name in ("centre front", "side front"):
        piece = changed.after[name]
        lines = [line for kind, line in markings(piece, changed.after) if kind == "balance"]
        assert any(line[0] == pytest.approx(piece.inner["bust point"][0], abs=0.1) for line in lines)
        paper = Polygon(piece.outline).buffer(0.5)
        assert all(paper.contains(LineString(line)) for line in lines)


def test_a_skirt_has_a_dart_that_its_waist_takes_in() -> None:
    changed = alter("waist_width", 20, Body(), "none", "skirt")
    assert changed is not None
    for pieces in (changed.block.pieces, changed.after):
        for name in ("back", "front"):
            (dart,) = (points for kind, points in markings(pieces[name], pieces) if kind == "dart")
            assert np.hypot(*(dart[2] - dart[0])) == pytest.approx(20, abs=0.2)
    girth = 2 * sum(changed.block.pieces["waistband"].length(edge) for edge in ("back", "front"))
    assert girth - Body().waist == pytest.approx(25, abs=8)  # common practice: 2 to 3 cm of ease


def test_grain_runs_upright_inside_the_paper() -> None:
    changed = alter("forward_shoulder", 10, Body(), "shoulder_princess")
    assert changed is not None
    for name in ("back", "centre front", "side front", "sleeve"):
        grain = next(points for kind, points in markings(changed.after[name], changed.after) if kind == "grain")
        assert grain[0, 0] == pytest.approx(grain[1, 0])
        assert Polygon(changed.after[name].outline).buffer(0).contains(LineString(grain))


def test_what_is_put_in_is_hatched_one_way_and_what_is_taken_out_both_ways() -> None:
    square = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 30.0], [0.0, 30.0]])
    lines = hatched(square, 10.0, (0.0,))
    assert [line[0, 1] for line in lines] == pytest.approx([0, 10, 20])
    changed = alter("forward_shoulder", 10, Body(), "none")
    assert changed is not None
    ways = {"gap_hatch": set(), "lap_hatch": set()}
    for stroke in lay_out(changed).strokes:
        if stroke.kind in ways:
            ways[stroke.kind].add(int(np.sign(np.prod(stroke.points[1] - stroke.points[0]))))
    assert ways == {"gap_hatch": {-1}, "lap_hatch": {-1, 1}}
