"""Cases as handbooks work them, and the alteration and amount they give. Where a book is named it is from memory unless it says excerpt.

Farmers' Bulletin 1968: US Department of Agriculture, Pattern Alteration (1945), from memory.
Liechty 1986: Liechty, Rasband & Pottberg-Steineckert, Fitting and Pattern Alteration (1986), from memory.
EM 2246: Washington State University Extension (1962), read as an excerpt. E-372: Texas Extension, read as an excerpt.
"""

from pathlib import Path

import pytest

from fitcheck.advice.ease import ease_tables
from fitcheck.advice.rows import Knowledge
from fitcheck.advice.size import choose_size, read_chart
from fitcheck.advice.solve import solve
from fitcheck.core.fitting import FittingFacts, TapeFacts

INCH = 25.4
CHART = Path(__file__).parents[2] / "sample_images" / "sizes.toml"


def both(key: str, value: float) -> dict[str, float]:
    return {f"{key}_L": value, f"{key}_R": value}


CASES = {
    "forward shoulder joint, seam 1/2 in behind it (Liechty 1986)": (
        both("shoulder_seam_behind_tip", INCH / 2) | both("shoulder_seam_behind_neck", 3),
        "dress",
        ("forward_shoulder", "both", INCH / 2),
    ),
    "narrow shoulders, seam 1/2 in past the bone: shorten it so much (Farmers' Bulletin 1968)": (
        both("shoulder_tip_beyond", INCH / 2),
        "dress",
        ("narrow_broad_shoulder", "both", -INCH / 2),
    ),
    "diagonals from shoulder tip to centre, garment steeper: square shoulder (EM 2246)": (
        both("shoulder_slope_excess", 6) | both("underarm_gap", 25 + 5) | {"back_neck_below": -9},
        "dress",
        ("square_sloping_shoulder", "both", 15),
    ),
    "sloping shoulders: lower tip and armhole alike (Farmers' Bulletin 1968)": (
        both("shoulder_slope_excess", -6) | both("underarm_gap", 25 - 5) | {"back_neck_below": 9},
        "dress",
        ("square_sloping_shoulder", "both", -15),
    ),
    "sway back, 5/8 in of folds at the back waist: fold it out to nothing at the side (Liechty 1986)": (
        {"waist_mark_above_back": -16, "waist_mark_above_front": 0} | both("waist_mark_above_side", 0) | both("side_seam_forward_hip", 6),
        "dress",
        ("sway_back", "both", 16),
    ),
    "round shoulders: back neck and back waist pulled, add across the blades (Farmers' Bulletin 1968)": (
        {"back_neck_below": 8, "waist_mark_above_back": 8, "waist_mark_above_front": -7}
        | both("side_seam_forward_waist", -20)
        | both("side_seam_forward_hip", -24)
        | both("side_seam_tilt", -2.6),
        "dress",
        ("rounded_erect_upper_back", "both", 14),
    ),
    "low bust, mark 1 in too high: lower dart or curve 1 in (Liechty 1986)": (
        both("bust_mark_above", INCH),
        "dress",
        ("bust_point_height", "both", -INCH),
    ),
    "large upper arm, sleeve 1 in short around: add 1 in (Farmers' Bulletin 1968)": (
        both("sleeve_tight", INCH),
        "dress",
        ("upper_arm", "both", INCH),
    ),
    "full seat: back crotch seam 1 1/4 in short: lengthen it so much (Liechty 1986)": (
        {"crotch_short_back": 1.25 * INCH, "waist_mark_above_back": -14},
        "trousers",
        ("crotch_length_back", "both", 1.25 * INCH),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_the_handbooks_alteration_and_amount(table: Knowledge, measure, case: str) -> None:
    shown, kind, (id, side, amount) = CASES[case]
    solution = solve(
        [measure(key, value, 1.5 if "slope" not in key else 0.6) for key, value in shown.items()], table, FittingFacts(kind=kind)
    )
    assert [(a.id, a.side) for a in solution.needed] == [(id, side)]
    assert solution.needed[0].amount_mm == pytest.approx(amount, abs=max(4.0, 0.2 * abs(amount)))


def test_full_bust_by_the_rule_of_thumb(table: Knowledge) -> None:
    """High bust 36 in, full bust 41 in, pattern drafted for 2 in: 1 1/2 in on each half (common practice)."""
    tape = TapeFacts(unit="in", high_bust=36, bust=41)
    advice = choose_size(tape, read_chart(CHART), table, ease_tables(), FittingFacts())
    (only,) = advice.estimates
    assert (only.id, only.amount_mm) == ("full_small_bust", pytest.approx(1.5 * INCH, abs=0.5))


def test_two_inches_or_more_over_the_high_bust_choose_the_smaller_size(table: Knowledge) -> None:
    """E-372. 88 cm of high bust lies between C (85) and D (90), nearer to D."""
    chart = read_chart(CHART)

    def size(full: float) -> str:
        return choose_size(TapeFacts(unit="cm", high_bust=88, bust=full), chart, table, ease_tables(), FittingFacts()).size

    assert size(88 + 2 * 2.54 + 0.1) == "C"
    assert size(88 + 4) == "D"
