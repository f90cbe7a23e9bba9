"""A fuller bust on any darted front, by a case that can be reckoned by hand."""

import numpy as np
import pytest

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import bodice, darted_front
from fitcheck.pattern.lines import path_length
from fitcheck.pattern.moves.dart_spread import dart_spread

BODY = Body()
FRONT = bodice(BODY, "dart").pieces["front"]


@pytest.mark.parametrize("width", [-10.0, 10.0, 25.0])
def test_the_bust_gains_the_width_and_no_seam_but_the_lower_edge_and_the_centre_changes(width):
    after = dart_spread(FRONT, width)
    for edge in ("neck", "shoulder", "armhole", "side_upper", "side_lower"):
        assert path_length(after.edges[edge]) == pytest.approx(path_length(FRONT.edges[edge]), abs=0.6), edge
    np.testing.assert_allclose(after.edges["side_lower"][0, 0] - FRONT.edges["side_lower"][0, 0], width, atol=1e-9)
    assert after.inner["bust point"][0, 0] - FRONT.inner["bust point"][0, 0] == pytest.approx(width)
    assert path_length(after.edges["waist"]) - path_length(FRONT.edges["waist"]) == pytest.approx(width, abs=0.3)


def test_the_dart_has_equal_legs_and_grows():
    after = dart_spread(FRONT, 20.0)
    assert path_length(after.edges["dart_upper"]) == pytest.approx(path_length(after.edges["dart_lower"]), abs=0.5)

    def mouth(piece):
        return float(np.hypot(*(piece.edges["dart_upper"][0] - piece.edges["dart_lower"][-1])))

    assert mouth(after) > mouth(FRONT) + 5


def test_it_is_what_the_block_drafts_when_its_dart_ends_in_the_bust_point():
    """The schematic block opens its dart by the same construction, from the start."""
    wide = darted_front(BODY, 25.0 + 12.0)
    after = dart_spread(FRONT, 12.0)
    for edge in ("side_upper", "dart_upper", "side_lower"):
        np.testing.assert_allclose(after.edges[edge], wide.edges[edge], atol=1.5)


def test_a_dart_that_would_vanish_is_refused():
    with pytest.raises(ValueError, match="vanish"):
        dart_spread(FRONT, -60.0)
