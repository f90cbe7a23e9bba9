"""Widths of the lower sleeve by hand: wider where it is asked, the cap and the seams' equality as before."""

import numpy as np
import pytest

from fitcheck.pattern.alter import alter
from fitcheck.pattern.drafts.block import Body


@pytest.mark.parametrize(("id", "share"), [("wrist_width", 1.0), ("forearm_width", 0.6)])
def test_the_lower_sleeve_is_wider_by_the_amount_where_it_is_asked(id: str, share: float) -> None:
    changed = alter(id, 16.0, Body(), "none")
    assert changed is not None
    widths = []
    for pieces in (changed.block.pieces, changed.after):
        front, back = pieces["sleeve"].edges["seam_front"], pieces["sleeve"].edges["seam_back"][::-1]
        level = front[0, 1] + share * (front[-1, 1] - front[0, 1])
        widths.append(float(np.interp(level, *front.T[::-1]) - np.interp(level, *back.T[::-1])))
    assert widths[1] - widths[0] == pytest.approx(16, abs=0.6)
    assert changed.after["sleeve"].edges["cap_back"] == pytest.approx(changed.block.pieces["sleeve"].edges["cap_back"])
    after = changed.after["sleeve"]
    assert after.length("seam_front") == pytest.approx(after.length("seam_back"))
