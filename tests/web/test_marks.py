"""What the correcting page is told of a result."""

import numpy as np
import pytest

from fitcheck.core.records import Measurement
from fitcheck.web.marks import MOST_POINTS, _forms, names, thinned


def item(id: str, unit: str = "mm") -> Measurement:
    return Measurement(id, "tip" if id == "shoulder_seam_behind" else "", "wearer_right", "right", 10.0, unit, 1.0, {})


@pytest.mark.parametrize(
    ("units", "above", "below"),
    [("cm", "{} behind the shoulder point", "{} in front of"), ("in", "{} behind the shoulder point", "{} in front of")],
)
def test_sentences_leave_room_for_an_amount(units, above, below):
    """Behind is above zero, in front below."""
    forms = _forms(item("shoulder_seam_behind"), units)
    assert forms["plus"] == above
    assert forms["minus"].startswith(below)
    assert forms["nought"].startswith("0 ")


def test_every_seam_can_be_drawn_for_the_sides_it_has():
    said = [(one["name"], one["side"]) for one in names()["seams"]]
    assert ("shoulder", "wearer_left") in said
    assert ("shoulder", "wearer_right") in said
    assert ("centre_front", "") in said
    assert ("centre_front", "wearer_left") not in said
    assert len(set(said)) == len(said)


def test_a_line_keeps_both_ends():
    line = np.column_stack([np.arange(1000.0), np.zeros(1000)])
    few = thinned(line)
    assert len(few) == MOST_POINTS
    assert few[0].tolist() == [0, 0]
    assert few[-1].tolist() == [999, 0]
    assert thinned(line[:7]) is not None
    assert len(thinned(line[:7])) == 7
