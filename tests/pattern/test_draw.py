"""The drawing is to scale, well formed, and leaves out what does not change."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from fitcheck.pattern.alter import alter
from fitcheck.pattern.block import Body
from fitcheck.pattern.draw import drawing, lay_out, seam_lengths


def test_only_pieces_that_change_are_drawn() -> None:
    changed = alter("sway_back", 15, Body(), "princess")
    assert changed is not None
    sheet = lay_out(changed)
    assert [name for name, _, _ in sheet.names] == ["back"]
    after, before = (next(s.points for s in sheet.strokes if s.kind == kind) for kind in ("after", "before"))
    assert np.ptp(before[:, 0]) == pytest.approx(np.ptp(changed.before["back"].outline[:, 0]))
    foot = [points[points[:, 0] < points[:, 0].min() + 0.1, 1].max() for points in (before, after)]  # centre back at the waist
    assert foot[0] - foot[1] == pytest.approx(15)
    for stroke in sheet.strokes:
        assert stroke.points.min() > 0
        assert (stroke.points.max(axis=0) < [sheet.width, sheet.height]).all()


def test_the_svg_is_well_formed_and_loads_nothing() -> None:
    changed = alter("forward_shoulder", 10, Body(), "dart")
    assert changed is not None
    svg = drawing(changed)
    root = ET.fromstring(svg)
    assert root.tag.endswith("svg")
    assert {"back", "front", "sleeve"} <= {text.text for text in root.iter("{http://www.w3.org/2000/svg}text")}
    assert "href" not in svg
    assert "script" not in svg


def test_lengths_before_and_after_are_told() -> None:
    changed = alter("waist_length_back", 20, Body(), "none")
    assert changed is not None
    rows = {name: lengths for name, *lengths in seam_lengths(changed)}
    before, after, other_before, other_after = rows["back side / front side"]
    assert after - before == pytest.approx(10, abs=0.5)
    assert other_after - other_before == pytest.approx(after - before, abs=0.5)
