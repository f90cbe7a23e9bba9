"""What is told of a half tissue, and what is made of it once the photos have shown it."""

from fitcheck.core.fitting import FittingFacts
from fitcheck.core.worn_told import WornTold


def test_what_is_said_of_how_the_tissue_is_worn():
    assert FittingFacts().worn_told == WornTold()
    assert FittingFacts(tissue="full").worn_told == WornTold("full")
    assert FittingFacts(tissue="half").worn_told == WornTold("half")
    assert FittingFacts(half="left", edge="cut").worn_told == WornTold("half", "wearer_left", 15.0)
    assert FittingFacts(edge="centre", seam_allowance_mm=10).worn_told.cut_mm == 0.0


def test_a_half_that_was_seen_is_told_from_then_on():
    worn = FittingFacts(wearer="Anna").as_worn("wearer_left")
    assert (worn.tissue, worn.half, worn.wearer) == ("half", "left", "Anna")
    assert worn.model_dump()["half"] == "left"
    assert "half" not in FittingFacts().model_dump()  # of a whole garment nothing is said of halves
    assert FittingFacts(tissue="half").as_worn(None).tissue == "full"
    assert FittingFacts().as_worn(None) == FittingFacts()
