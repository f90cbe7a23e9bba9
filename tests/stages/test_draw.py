"""Drawings for a report."""

from dataclasses import replace

from fitcheck.core.fitting import FittingFacts
from fitcheck.stages.draw import with_drawings


def test_every_step_that_can_be_drawn_is_and_the_rest_stays(staged):
    plan = staged.advised.round
    drawn = with_drawings(plan, FittingFacts())
    assert drawn.steps[0].diagram_svg.startswith("<svg")
    assert drawn.steps[0].seams
    assert replace(drawn.steps[0], diagram_svg="", diagram_note="", seams=()) == plan.steps[0]
    assert plan.steps[0].diagram_svg == ""
