"""A sticker at centre front is seen from the front alone; the side views' outlines say how far before the body it lies."""

from dataclasses import replace

import numpy as np
import pytest
import rig

from fitcheck.body.adjust import adjust
from fitcheck.body.paper_edges import EDGE_MM, paper_edges
from fitcheck.body.point_table import body_points
from fitcheck.core.evidence import Evidence
from fitcheck.core.outline import Outline
from fitcheck.core.records import VIEWS, Sighting, View
from fitcheck.core.solution import Solution

SCALE = rig.scale_at()
ROWS = np.arange(300.0, 1500.0, 20.0)


def lying(waist_front_mm: float = 15.0) -> tuple[list[Sighting], dict[tuple[str, str | None], np.ndarray]]:
    """Centred stickers on the usual body as far off the skin as they usually are, but for the one at the waist; and where they lie."""
    points, seen, where = rig.body(), [], {}
    for view, keys in rig.SEEN_IN.items():
        for key in keys:
            off_mm = waist_front_mm if key[0] == "waist_front" else body_points()[key].stand_off_mm[0]
            where[key] = points[key] + off_mm * body_points()[key].normal
            seen.append(Sighting(*key, view, "marker", rig.pixels(SCALE, view, where[key])[0], 0.3))
    return seen, where


def straight(view: View, at_left_px: float, at_right_px: float) -> Outline:
    """Edges straight up and down."""
    edges = np.vstack([np.full(len(ROWS), at_left_px), np.full(len(ROWS), at_right_px)])
    return Outline(ROWS, edges, np.full(edges.shape, 0.5))


def evidence(seen: list[Sighting], outlines: dict[View, Outline]) -> Evidence:
    return Evidence(dict.fromkeys(VIEWS, SCALE), seen, outlines=outlines)


def test_the_edge_before_the_waist_is_the_waist_stickers() -> None:
    """From her right she faces image right: the right edge is centre front's, less half a millimetre, at 29/30 mm a pixel."""
    seen, _ = lying()
    body = adjust(evidence(seen, {}))
    found = {s.name: s for s in paper_edges(body, evidence(seen, {"right": straight("right", 500.0, 900.0)}))}
    assert set(found) == {"waist_front", "bust_point", "waist_back"}
    front, back = found["waist_front"], found["waist_back"]
    mm_per_px = SCALE.distance_mm / 3000
    assert (front.kind, front.view) == ("edge_on", "right")
    assert front.xy_px[0] == pytest.approx(900.0 - 0.5 / mm_per_px, abs=0.1)
    assert back.xy_px[0] == pytest.approx(500.0 + 0.5 / mm_per_px, abs=0.1)
    assert front.sd_mm == EDGE_MM["waist_front"][1]


def test_of_two_stickers_the_one_that_reaches_farther_makes_the_edge() -> None:
    """She stands turned in the right view, so that one breast is nearer to the picture's edge: its sticker is meant, or none."""
    turns: dict[View, float] = {"right": 6.0}
    points = rig.body()
    seen = [
        Sighting(*key, view, "marker", rig.pixels(SCALE, view, points[key], turns.get(view, 0.0))[0], 0.3)
        for view, keys in rig.SEEN_IN.items()
        for key in keys
    ]
    body = adjust(evidence(seen, {}))
    (bust,) = (s for s in paper_edges(body, evidence(seen, {"right": straight("right", 500.0, 900.0)})) if s.name == "bust_point")
    columns = {side: rig.pixels(SCALE, "right", points["bust_point", side], 6.0)[0, 0] for side in ("wearer_left", "wearer_right")}
    outermost = max(columns, key=lambda side: columns[side])
    assert bust.side == outermost
    others = [s for s in seen if (s.name, s.side) != ("bust_point", outermost)]
    assert "bust_point" not in {s.name for s in paper_edges(body, evidence(others, {"right": straight("right", 500.0, 900.0)}))}


def test_where_the_outline_is_hidden_nothing_is_said() -> None:
    seen, _ = lying()
    body = adjust(evidence(seen, {}))
    hidden = straight("right", 500.0, 900.0)
    gone = np.where(np.abs(ROWS - body.views["right"].project(body.position("waist_front"))[0, 1]) < 40, np.nan, hidden.edges_px)
    assert "waist_front" not in {s.name for s in paper_edges(body, evidence(seen, {"right": replace(hidden, edges_px=gone)}))}


def test_a_sticker_that_stands_off_is_found_where_it_is() -> None:
    """25 mm before the skin where 13 are usual: from the front that shows in nothing, the side outlines tell it."""
    seen, where = lying(waist_front_mm=25.0)
    true_mm = where["waist_front", None]
    outlines: dict[View, Outline] = {}
    for view, sense in (("right", 1), ("left", -1)):
        column = rig.pixels(SCALE, view, true_mm + [0, 0, EDGE_MM["waist_front"][0]])[0, 0]
        outlines[view] = straight(view, *((column - 400, column) if sense > 0 else (column, column + 400)))
    body = adjust(evidence(seen, {}))
    edges = [s for s in paper_edges(body, evidence(seen, outlines)) if s.name == "waist_front"]
    assert len(edges) == 2
    better = adjust(evidence(seen, {}).with_paper_edges(edges), body)

    def off_mm(solution: Solution) -> float:
        return float(solution.position("waist_front")[2] + solution.stand_offs_mm["waist_front", None] - true_mm[2])

    assert off_mm(body) < -9  # taken for one that lies as usual
    assert abs(off_mm(better)) < 2  # her size, which nothing else tells here, takes up a part


def test_a_hand_before_the_edge_hardly_counts() -> None:
    """From her left a hand is the outline, 40 mm before the sticker: it lies where the right photo says, to 2 mm."""
    seen, where = lying()
    true_mm = where["waist_front", None]
    columns = {view: rig.pixels(SCALE, view, true_mm + [0, 0, by_mm])[0, 0] for view, by_mm in (("right", 0.5), ("left", 40.5))}
    outlines: dict[View, Outline] = {
        "right": straight("right", columns["right"] - 400, columns["right"]),
        "left": straight("left", columns["left"], columns["left"] + 400),
    }
    body = adjust(evidence(seen, {}))
    edges = [s for s in paper_edges(body, evidence(seen, outlines)) if s.name == "waist_front"]
    better = adjust(evidence(seen, {}).with_paper_edges(edges), body)
    assert better.position("waist_front")[2] + better.stand_offs_mm["waist_front", None] == pytest.approx(true_mm[2], abs=2)
