"""Last stage: the lengths that only a drawing knows, in the words of every step, and for reports the drawing itself."""

from dataclasses import replace

from fitcheck.core.advice import Round, RoundStep
from fitcheck.core.fitting import FittingFacts
from fitcheck.pattern.alter import altered_for
from fitcheck.pattern.drawing.lay_out import lay_out
from fitcheck.pattern.drawing.svg import drawing, drawn_seams
from fitcheck.pattern.told import told


def with_drawings(plan: Round, facts: FittingFacts, pictures: bool = True) -> Round:
    """The round with what its drawings tell, and with the drawings where pictures are wanted; a cut garment gets none, they cut paper."""
    if facts.stage == "garment":
        return plan
    return replace(plan, steps=tuple(_drawn(step, facts, pictures) for step in plan.steps))


def _drawn(step: RoundStep, facts: FittingFacts, pictures: bool) -> RoundStep:
    changed = altered_for(facts, step.amount.id, step.cut_mm, step.amount.side != "both")
    step = replace(step, steps=told(step.steps, changed), matching=told(step.matching, changed))
    if changed is None or not pictures:
        return step
    return replace(step, diagram_svg=drawing(lay_out(changed)), diagram_note=changed.note, seams=drawn_seams(changed))
