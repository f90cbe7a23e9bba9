"""What is printed: how to set up, card and stickers, and every alteration drawn as a sheet."""

import re
from collections.abc import Callable
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from fitcheck.web.desk import Desk
from fitcheck.web.frame import page
from fitcheck.web.house import House, case_of, house_of, number_of, work_of


def set_up(request: Request) -> Response:
    """How to take the photos."""
    return page(request, "set_up.html.j2", paper=house_of(request).choices.paper)


def card(request: Request) -> Response:
    """Scale card, stickers and set-up page."""
    from fitcheck.report.print.card import Paper, write_card

    paper: Paper = "letter" if request.path_params["paper"] == "letter" else "a4"

    def write(path: Path) -> str:
        write_card(path, paper)
        return f"card-{paper}"

    return _pdf(house_of(request), write)


def sheet(request: Request) -> Response:
    """One step of a round, drawn."""
    house, work, size = house_of(request), work_of(request), request.path_params["size"]
    choices, number = house.choices, number_of(request, "step")

    def write(path: Path) -> str:
        asked = (case_of(house, work), number, size == "full", choices.paper, choices.told_in, path)
        drawn = house.bench.ask(Desk.sheet, *asked).result()
        if drawn is None or size not in ("small", "full"):
            raise HTTPException(404, "This round has no such sheet.")
        return f"{drawn}-{size}"

    return _pdf(house, write)


def _pdf(house: House, write: Callable[[Path], str]) -> Response:
    """A PDF made in the private folder, sent, and gone; whoever writes it says what it is."""
    folder = house.bench.place.new_folder()
    path = folder / "sheet.pdf"
    try:
        name = write(path)
        data = path.read_bytes()
    finally:
        path.unlink(missing_ok=True)
        folder.rmdir()
    safe = re.sub(r"[^a-z0-9_-]", "_", name.lower())
    return Response(data, media_type="application/pdf", headers={"content-disposition": f'inline; filename="{safe}.pdf"'})


routes = [
    Route("/set-up", set_up),
    Route("/print/card-{paper}.pdf", card),
    Route("/fitting/{id}/sheet/{step:int}/{size}.pdf", sheet),
]
