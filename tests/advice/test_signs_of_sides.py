"""What is seen on one side is altered on that side: left and right, by amounts that a dressmaker would pin out."""

import pytest

from fitcheck.advice.rows import Knowledge
from fitcheck.advice.solve import solve
from fitcheck.core.fitting import FittingFacts

FACTS = FittingFacts()


@pytest.mark.parametrize(("left", "right"), [(7.0, 19.0), (19.0, 7.0)])
def test_two_amounts_go_to_their_own_sides(table: Knowledge, measure, left: float, right: float) -> None:
    given = [measure("shoulder_seam_behind_tip_L", left, 1.0), measure("shoulder_seam_behind_tip_R", right, 1.0)]
    needed = {(a.id, a.side): a.amount_mm for a in solve(given, table, FACTS).needed}
    assert needed == {
        ("forward_shoulder", "wearer_left"): pytest.approx(left, abs=1.5),
        ("forward_shoulder", "wearer_right"): pytest.approx(right, abs=1.5),
    }


@pytest.mark.parametrize("side", ["wearer_left", "wearer_right"])
def test_a_fault_on_one_side_is_altered_there_alone(table: Knowledge, measure, side: str) -> None:
    own, other = ("L", "R") if side == "wearer_left" else ("R", "L")
    given = [measure(f"shoulder_seam_behind_tip_{own}", 15.0, 1.0), measure(f"shoulder_seam_behind_tip_{other}", 0.0, 1.0)]
    needed = solve(given, table, FACTS).needed
    assert [(a.id, a.side) for a in needed] == [("forward_shoulder", side)]
    assert needed[0].amount_mm == pytest.approx(15, abs=1.5)


@pytest.mark.parametrize(("difference", "lower"), [(14.0, "wearer_right"), (-14.0, "wearer_left")])
def test_the_lower_shoulder_is_the_one_that_is_lowered(table: Knowledge, measure, difference: float, lower: str) -> None:
    """The right shoulder 14 mm lower, and the garment's line flatter than hers there alone (4 degrees to 10 mm)."""
    own, other = ("R", "L") if difference > 0 else ("L", "R")
    given = [
        measure("shoulder_height_difference", difference, 1.0),
        measure(f"shoulder_slope_excess_{own}", -5.6, 0.5),
        measure(f"shoulder_slope_excess_{other}", 0.0, 0.5),
    ]
    needed = solve(given, table, FACTS).needed
    assert [(a.id, a.side) for a in needed] == [("uneven_shoulders", lower)]
    assert needed[0].amount_mm == pytest.approx(14, abs=3)
