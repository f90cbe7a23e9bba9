"""Which pieces a case has, by kind of front."""

import pytest

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import bodice
from fitcheck.pattern.recipes.recipe import Case


@pytest.mark.parametrize(
    ("front", "fronts", "darted"),
    [("none", ["front"], False), ("dart", ["front"], True), ("princess", ["centre front", "side front"], False)],
)
def test_the_pieces_of_the_front_from_the_centre_to_the_side(front, fronts, darted):
    case = Case(bodice(Body(), front).pieces, 10.0, Body(), False)
    assert case.fronts == fronts
    assert (case.front.name, case.beside.name) == (fronts[0], fronts[-1])
    assert case.back.name == "back"
    assert (case.darted, case.princess) == (darted, len(fronts) == 2)
    assert "centre" in case.front.edges
    assert any(edge.startswith("side") for edge in case.beside.edges)
