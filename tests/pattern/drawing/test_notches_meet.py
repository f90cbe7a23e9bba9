"""After every alteration, on every kind of front, what is matched when it is sewn carries its notch at the same place on both edges."""

import numpy as np
import pytest

from fitcheck.advice.table import knowledge
from fitcheck.core.fitting import SHAPING
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drawing.markings import markings
from fitcheck.pattern.lines import nearest_along, path_length, point_at

UPPER = [
    (row.id, front)
    for row in knowledge().alterations.values()
    if {*row.garments} - {"skirt", "trousers"}
    for front, shaping in SHAPING.items()
    if shaping in row.fronts
]


@pytest.mark.parametrize(("id", "front"), UPPER)
def test_notches_meet_after_every_alteration(id, front):
    """Sewn together from the underarm up, each notch of the armhole lies on one of the cap's; at the bust both panels have theirs."""
    row = knowledge().alterations[id]
    for sign in (1, -1) if row.minus else (1,):
        after = alter(id, sign * row.amounts.usual[1], Body(), front).after
        caps = {half: from_underarm(after, "sleeve", half) for half in ("back", "front")}
        shift = row.amounts.usual[1] * sign if id == "sleeve_pitch" else 0.0  # a sleeve that is turned: its cap lies so much further round
        for half, way in (("back", 1), ("front", -1)):
            armhole = [place for name in after if half in name for place in from_underarm(after, name, half)]
            assert sorted(armhole) == pytest.approx(sorted(place - way * shift for place in caps[half]), abs=1.0)
        if "side front" in after:
            low = [after[name].length("princess_lower") for name in ("centre front", "side front")]
            assert low[0] == pytest.approx(low[1], abs=1.0)
            for name, end in (("centre front", 0), ("side front", -1)):
                bust = after[name].edges["princess_lower"][end]
                assert any(np.allclose(line[0], bust) for line in balance(after, name))


def balance(pieces, name):
    moved = [mark.points for mark in pieces[name].marks if mark.kind == "notch"]
    return [points for kind, points in markings(pieces[name], pieces) if kind == "balance"] + moved


def from_underarm(pieces, name, half):
    """How far up from the underarm the notches of an armhole, or of one half of the cap, lie, as they are sewn."""
    piece = pieces[name]
    edge = f"cap_{half}" if name == "sleeve" else "armhole"
    if edge not in piece.edges:
        return []
    points = piece.edges[edge] if edge == "cap_back" else piece.edges[edge][::-1]
    below = pieces["side front"].length("armhole") if name == "centre front" else 0.0
    eased = [mark.points for mark in piece.marks if mark.kind == "tape"]
    found = []
    for line in balance(pieces, name):
        along = nearest_along(points, line[0])
        if np.hypot(*(point_at(points, along) - line[0])) < 0.1 and (name != "sleeve" or along < 0.6 * path_length(points)):
            found.append(below + along - sum(piece.taken.get(edge, 0.0) * passed(points, tape, along) for tape in eased))
    return found


def passed(edge, tape, along):
    """The share of a tape that lies below a place on the edge."""
    ends = sorted(nearest_along(edge, place + [10, 0]) for place in tape[[0, -1]])  # drawn 10 mm inside the armhole
    return float(np.clip((along - ends[0]) / (ends[1] - ends[0]), 0, 1))
