"""One step of a round as a sheet to print."""

from pathlib import Path

from fitcheck.core.advice import RoundStep
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.pattern.alter import altered_for
from fitcheck.pattern.drawing.lay_out import lay_out
from fitcheck.pattern.drawing.svg import drawn_seams
from fitcheck.report.print.sheet import Below, write_sheet
from fitcheck.report.words.units import Units, amount, fill


def write(path: Path, step: RoundStep, facts: FittingFacts, full: bool, paper: str, units: Units) -> None:
    """Draw it as a PDF, small or at full size.

    Raises
    ------
    UsageError
        There is no drawing of this alteration.
    """
    amount_mm = step.cut_mm or step.amount.amount_mm
    changed = altered_for(facts, step.amount.id, amount_mm, step.amount.side != "both")
    if changed is None:
        raise UsageError("There is no drawing of this alteration.", "Its steps stand on the page of the answer.")
    title = f"{step.name[:1].upper()}{step.name[1:]}, {amount(amount_mm, units)}"
    below = Below([fill(line, units, amount_mm) for line in (*step.steps, *step.matching)], drawn_seams(changed))
    write_sheet(path, lay_out(changed), title, "letter" if paper == "letter" else "a4", full, below, "in" if units != "cm" else "cm")
