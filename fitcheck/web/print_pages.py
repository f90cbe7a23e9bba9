"""What is printed: how to set up, card and stickers, and every alteration drawn as a sheet."""

import re
from collections.abc import Callable
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fitcheck.core.advice import RoundStep
from fitcheck.core.errors import UsageError
from fitcheck.core.fitting import FittingFacts
from fitcheck.report.words.units import Units, amount, fill
from fitcheck.web.fitting_page import whole_result
from fitcheck.web.frame import page
from fitcheck.web.house import House, house_of, number_of, work_of


def set_up(request: Request) -> Response:
    """How to take the photos."""
    return page(request, "set_up.html.j2", paper=house_of(request).choices.paper)


def card(request: Request) -> Response:
    """Scale card, stickers and set-up page."""
    from fitcheck.report.print.card import Paper, write_card

    paper: Paper = "letter" if request.path_params["paper"] == "letter" else "a4"
    return _pdf(house_of(request), f"card-{paper}.pdf", lambda path: write_card(path, paper))


def sheet(request: Request) -> Response:
    """One step of a round, drawn."""
    house, work, size = house_of(request), work_of(request), request.path_params["size"]
    steps = whole_result(house, work).round.steps
    number = number_of(request, "step")
    if not 0 < number <= len(steps) or size not in ("small", "full"):
        raise HTTPException(404, "This round has no such step.")
    step = steps[number - 1]
    choices = house.choices
    name = f"{step.amount.id}-{size}.pdf"
    return _pdf(house, name, lambda path: _write(path, step, work.facts, size == "full", choices.paper, choices.told_in))


def _write(path: Path, step: RoundStep, facts: FittingFacts, full: bool, paper: str, units: Units) -> None:
    from fitcheck.pattern.alter import alter
    from fitcheck.pattern.drafts.block import Body
    from fitcheck.pattern.drawing.lay_out import lay_out
    from fitcheck.pattern.drawing.svg import drawn_seams
    from fitcheck.report.print.sheet import Below, write_sheet

    amount_mm = step.cut_mm or step.amount.amount_mm
    changed = alter(step.amount.id, amount_mm, Body.of(facts.tape), facts.front, facts.kind, step.amount.side != "both", facts.sleeve)
    if changed is None:
        raise UsageError("There is no drawing of this alteration.", "Its steps stand on the page of the answer.")
    title = f"{step.name[:1].upper()}{step.name[1:]}, {amount(amount_mm, units)}"
    below = Below([fill(line, units, amount_mm) for line in (*step.steps, *step.matching)], drawn_seams(changed))
    write_sheet(path, lay_out(changed), title, "letter" if paper == "letter" else "a4", full, below, "in" if units != "cm" else "cm")


def _pdf(house: House, name: str, write: Callable[[Path], object]) -> Response:
    """A PDF made in the private folder, sent, and gone."""
    folder = house.bench.place.new_folder()
    path = folder / "sheet.pdf"
    try:
        write(path)
        data = path.read_bytes()
    finally:
        path.unlink(missing_ok=True)
        folder.rmdir()
    safe = re.sub(r"[^a-z0-9_.-]", "_", name.lower())
    return Response(data, media_type="application/pdf", headers={"content-disposition": f'inline; filename="{safe}"'})


routes = [
    Route("/set-up", set_up),
    Route("/print/card-{paper}.pdf", card),
    Route("/fitting/{id}/sheet/{step:int}/{size}.pdf", sheet),
]
