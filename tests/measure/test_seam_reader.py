"""What a sticker hides of a seam."""

import numpy as np
import rig

from fitcheck.body.adjust import adjust
from fitcheck.core.evidence import Evidence
from fitcheck.core.records import VIEWS, SeamLine, Sighting
from fitcheck.measure.seam_reader import SeamReader

DOWN = np.column_stack([np.full(101, 50.0), np.arange(101.0)])  # straight down, a point a pixel


def read(*corners):
    points, scale = rig.body(), rig.scale_at()
    body = adjust(Evidence(dict.fromkeys(VIEWS, scale), rig.sightings(points, scale, {})))
    stickers = [Sighting("seat", None, "back", "marker", np.zeros(2), 1.0, corners_px=np.array(c, float)) for c in corners]
    return SeamReader(body, [], stickers)


def test_what_lies_under_a_sticker_and_its_border_is_left_out():
    reader = read([[40, 40], [60, 40], [60, 60], [40, 60]])
    bare = reader.bare(SeamLine("side", "wearer_right", "back", DOWN, 1.0))
    assert sorted(set(DOWN[:, 1]) - set(bare[:, 1])) == list(range(33, 68))  # 20 px of paper and nearly 8 to both sides
    assert reader.hidden("back", np.array([50.0, 34.0]))
    assert not reader.hidden("back", np.array([50.0, 31.0]))
    assert not reader.hidden("front", np.array([50.0, 50.0]))


def test_a_seam_nearly_all_under_paper_is_taken_whole():
    reader = read([[0, 10], [99, 10], [99, 90], [0, 90]])
    assert len(reader.bare(SeamLine("side", "wearer_right", "back", DOWN, 1.0))) == len(DOWN)


def test_a_line_across_the_shoulder_is_the_armhole_and_not_its_seam():
    """The seam runs from neck to bone; an armhole that touches its outer end runs from front to back there, and is as near."""
    reader, points, scale = read(), rig.body(), rig.scale_at()
    for side, view in (("wearer_right", "right"), ("wearer_left", "left")):
        neck, bone = points["side_neck_point", side], points["shoulder_point", side]
        for ends, across in (
            (np.stack([neck, bone]), False),
            (np.stack([neck, bone - [0, 0, 20]]), False),
            (bone + [[0, -4, 25], [0, 0, -25]], True),
        ):
            line = rig.pixels(scale, view, ends)
            along = line[0] + np.linspace(0, 1, 30)[:, None] * (line[1] - line[0])
            assert reader.no_shoulder_seam(SeamLine("shoulder", side, view, along, 0.5), side) == across


def test_a_line_that_begins_at_the_bone_is_a_stickers_edge():
    reader, points, scale = read(), rig.body(), rig.scale_at()
    neck, bone = points["side_neck_point", "wearer_right"], points["shoulder_point", "wearer_right"]
    for first, last, no_seam in ((0.0, 1.0, False), (0.4, 1.0, False), (0.95, 1.5, True)):
        ends = rig.pixels(scale, "right", neck + np.array([[first], [last]]) * (bone - neck))
        line = ends[0] + np.linspace(0, 1, 30)[:, None] * (ends[1] - ends[0])
        assert reader.no_shoulder_seam(SeamLine("shoulder", "wearer_right", "right", line, 0.5), "wearer_right") == no_seam
