"""What is cut of an amount: steps a dressmaker cuts, what is sensible at once, what cut cloth gives; worked by hand."""

import pytest

from fitcheck.advice.cutting import cut_amount, made_mm, rounding
from fitcheck.advice.rows import Knowledge
from fitcheck.core.advice import Amount
from fitcheck.core.fitting import FittingFacts


@pytest.mark.parametrize(
    ("facts", "measured", "cut"),
    [
        # to the nearest quarter of a centimetre, an eighth of an inch; finer: a millimetre, a sixteenth of an inch
        (FittingFacts(), 8.7, 7.5),
        (FittingFacts(), 8.8, 10.0),
        (FittingFacts(), -8.7, -7.5),
        (FittingFacts(), 1.0, 2.5),
        (FittingFacts(), 40.0, 25.0),
        (FittingFacts(finest="fine"), 8.7, 9.0),
        (FittingFacts(units="in"), 10.4, 9.525),
        (FittingFacts(units="in"), 12.0, 12.7),
        (FittingFacts(units="in", finest="fine"), 12.0, 12.7),
        (FittingFacts(units="in", finest="fine"), 11.0, 11.1125),
    ],
)
def test_amounts_are_cut_as_a_dressmaker_rounds(table: Knowledge, facts: FittingFacts, measured: float, cut: float) -> None:
    amount = Amount("forward_shoulder", "both", measured, 1.0)
    assert cut_amount(amount, table.alterations["forward_shoulder"], facts) == pytest.approx(cut)


def test_what_was_measured_is_told_only_where_the_cut_differs_by_a_millimetre(table: Knowledge) -> None:
    row, facts = table.alterations["forward_shoulder"], FittingFacts()
    assert rounding(Amount("forward_shoulder", "both", 11.2, 1.0), 12.5, row, facts) == "Measured {mm:11.2}, rounded to {cut:12.5}."
    assert rounding(Amount("forward_shoulder", "both", 12.1, 1.0), 12.5, row, facts) == ""
    assert rounding(Amount("forward_shoulder", "both", 11.2, 1.0), 12.7, row, FittingFacts(units="in")) == ""


def test_of_paper_all_is_made_that_is_cut(table: Knowledge) -> None:
    assert made_mm(Amount("forward_shoulder", "both", -8.7, 1.0), table.alterations["forward_shoulder"], FittingFacts()) == pytest.approx(
        -7.5
    )


def test_of_cut_cloth_no_more_is_made_than_its_seams_give(table: Knowledge) -> None:
    """Allowances of 15 mm, of which 6 stay in the seam: front and back give 9 each at a side seam, together 18."""
    row, sewn = table.alterations["waist_width"], FittingFacts(stage="garment", seam_allowance_mm=15.0)
    assert made_mm(Amount("waist_width", "both", 15.0, 1.0), row, sewn) == pytest.approx(15.0)
    assert made_mm(Amount("waist_width", "both", 25.0, 1.0), row, sewn) == pytest.approx(18.0)
