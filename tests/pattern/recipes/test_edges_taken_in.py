"""A gaping edge becomes shorter by what gaped, however obliquely it runs: measured along the seam as it is sewn, all fronts and figures."""

from itertools import pairwise

import numpy as np
import pytest

from fitcheck.core.fitting import SHAPING
from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body

FIGURES = [Body(), Body(bust=800, waist=620, hip=860, back_waist=370, shoulder=110), Body(bust=1200, waist=1050, hip=1260, back_waist=430)]
EDGES = {"armhole_gape": ("armhole", False), "neckline_gape": ("neck", False), "back_armhole_gape": ("armhole", True)}


@pytest.mark.parametrize("body", FIGURES, ids=["block", "small", "large"])
@pytest.mark.parametrize("front", SHAPING)
@pytest.mark.parametrize("id", EDGES)
def test_an_edge_that_gapes_is_shorter_by_what_is_taken_in(id, front, body):
    edge, behind = EDGES[id]
    for amount in (4.0, 8.0, 12.0, 16.0):
        changed = alter(id, amount, body, front)
        pieces = [name for name, piece in changed.after.items() if edge in piece.edges and (name == "back") == behind]
        shorter = sum(changed.block.pieces[name].length(edge) - changed.after[name].length(edge) for name in pieces)
        assert shorter == pytest.approx(amount, abs=0.5), (front, amount)


@pytest.mark.parametrize("body", FIGURES, ids=["block", "small", "large"])
@pytest.mark.parametrize("id", EDGES)
def test_the_edge_runs_on_without_a_corner_where_it_was_taken_in(id, body):
    """No bend of more than 20 degrees within 6 mm: the paper's step is drawn smooth."""
    edge, behind = EDGES[id]
    changed = alter(id, 16.0, body, "dart")
    points = changed.after["back" if behind else "front"].edges[edge]
    turns = [np.degrees(np.arctan2(*(two - one)[::-1])) for one, two in pairwise(points)]
    assert max(abs((b - a + 180) % 360 - 180) for a, b in pairwise(turns)) < 20


@pytest.mark.parametrize("front", SHAPING)
def test_a_shoulder_that_a_back_armhole_opens_is_sewn_as_long_as_it_was(front):
    for amount in (4.0, 16.0):
        changed = alter("back_armhole_gape", amount, Body(), front)
        assert changed.after["back"].length("shoulder") == pytest.approx(changed.block.pieces["back"].length("shoulder"), abs=0.5)
