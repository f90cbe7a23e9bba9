"""Drawings for a report."""

from dataclasses import replace

from fitcheck.core.fitting import FittingFacts
from fitcheck.stages.draw import with_drawings


def test_every_step_that_can_be_drawn_is_and_the_rest_stays(staged):
    plan = staged.advised.round
    drawn = with_drawings(plan, FittingFacts())
    assert drawn.steps[0].diagram_svg.startswith("<svg")
    assert drawn.steps[0].seams
    words = {"steps": plan.steps[0].steps, "matching": plan.steps[0].matching}
    assert replace(drawn.steps[0], diagram_svg="", diagram_note="", seams=(), **words) == plan.steps[0]
    assert plan.steps[0].diagram_svg == ""


def test_lengths_that_the_drawing_knows_are_told_with_and_without_pictures(staged):
    plan = staged.advised.round
    with_pictures, without = (with_drawings(plan, FittingFacts(), pictures) for pictures in (True, False))
    for one, other in zip(with_pictures.steps, without.steps, strict=True):
        assert (one.steps, one.matching) == (other.steps, other.matching)
        assert "{drawn:" not in " ".join((*one.steps, *one.matching))
        assert not other.diagram_svg
