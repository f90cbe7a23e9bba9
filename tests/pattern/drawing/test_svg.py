"""The drawing is to scale, well formed, and leaves out what does not change; its words cover neither each other nor the edge."""

import xml.etree.ElementTree as ET
from itertools import combinations

import numpy as np
import pytest

from fitcheck.advice.table import knowledge
from fitcheck.core.drawing import PatternSheet
from fitcheck.core.fitting import SHAPING
from fitcheck.pattern.alter import Altered, alter, drawn
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drawing.lay_out import lay_out
from fitcheck.pattern.drawing.svg import drawing, drawn_seams
from fitcheck.report.words.units import fill


def altered(id: str, amount: float, front: str, kind: str = "dress") -> Altered:
    changed = alter(id, amount, Body(), front, kind)
    assert changed is not None
    return changed


def test_only_pieces_that_change_are_drawn_and_to_scale() -> None:
    changed = altered("sway_back", 15, "princess")
    sheet = lay_out(changed)
    assert [name for name, _, _ in sheet.names] == ["back"]
    after, before = (next(s.points for s in sheet.strokes if s.kind == kind) for kind in ("after", "before"))
    assert np.ptp(before[:, 0]) == pytest.approx(np.ptp(changed.block.pieces["back"].outline[:, 0]))
    foot = [points[points[:, 0] < points[:, 0].min() + 0.1, 1].max() for points in (before, after)]  # centre back at the waist
    assert foot[0] - foot[1] == pytest.approx(15)
    kinds = {stroke.kind for stroke in sheet.strokes}
    assert {"cut", "hinge", "lap", "arrow", "head"} <= kinds
    assert "gap" not in kinds


@pytest.mark.parametrize(("id", "kind"), sorted(drawn()))
def test_words_lie_inside_and_apart(id: str, kind: str) -> None:
    row = knowledge().alterations[id]
    for front in (front for front, shaping in SHAPING.items() if shaping in row.fronts):
        for sign in (1, -1) if row.minus else (1,):
            for size in (row.amounts.smallest, row.amounts.usual[1], row.amounts.most(sign)):
                amount = sign * size
                sheet = lay_out(altered(id, amount, front, kind or "dress"))
                assert sheet.labels
                boxes = list(_boxes(sheet))
                for x0, y0, x1, y1 in boxes:
                    assert 0 <= x0 < x1 <= sheet.width + 1
                    assert 0 <= y0 + sheet.text < y1 + sheet.text
                    assert y1 <= sheet.height + 1
                for one, other in combinations(boxes, 2):
                    apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
                    assert apart, (id, front, amount, sheet.labels, sheet.names)
                for stroke in sheet.strokes:
                    assert stroke.points.min() > -0.5 * sheet.text, stroke.kind
                    assert (stroke.points.max(axis=0) < [sheet.width + 1, sheet.height + 1]).all(), stroke.kind


def _boxes(sheet: PatternSheet) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of every word, at half the height of a letter and 0.5 of its width."""
    wide, high = 0.5 * sheet.text, 0.35 * sheet.text
    found = [(x, y - 2 * high, x + wide * len(says), y) for says, x, y in sheet.names]
    for says, x, y in sheet.labels:
        half = wide * len(fill(says, "in")) / 2
        found.append((x - half, y - high, x + half, y + high))
    return found


def test_the_svg_is_well_formed_loads_nothing_and_explains_what_it_shows() -> None:
    svg = drawing(lay_out(altered("forward_shoulder", 10, "dart")))
    texts = [text.text for text in ET.fromstring(fill(svg, "in")).iter("{http://www.w3.org/2000/svg}text")]
    assert {"back", "front", "sleeve", "before", "after", "hinge", "3/8 in"} <= set(texts)
    assert "dart as sewn" in texts
    assert "eased to a tape" not in texts
    assert "href" not in svg
    assert "script" not in svg


def test_letters_can_be_read_on_a_phone() -> None:
    for id, kind in drawn():
        row = knowledge().alterations[id]
        sheet = lay_out(altered(id, row.amounts.usual[1], "princess", kind or "dress"))
        assert sheet.text * 315 / sheet.width > 12  # 390 px wide, less the margins of page and card


def test_the_dart_is_told_where_it_opens() -> None:
    sheet = lay_out(altered("full_small_bust", 20, "dart"))
    says = [says for says, _, _ in sheet.labels if says.startswith("dart")]
    assert len(says) == 1
    assert not any(says.startswith("dart") for says, _, _ in lay_out(altered("bust_point_height", 20, "dart")).labels)


def test_lengths_before_and_after_are_told_of_the_pieces_drawn() -> None:
    seams = {seam.name: seam for seam in drawn_seams(altered("waist_length_back", 20, "none"))}
    side = seams["back side / front side"]
    assert side.after - side.before == pytest.approx(10, abs=0.5)
    assert side.other_after - side.other_before == pytest.approx(side.after - side.before, abs=0.5)
    assert "sleeve seam back / sleeve seam front" not in seams
