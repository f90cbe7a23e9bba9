"""Putting right what was misread: the photo with its points and lines to drag, and the numbers that follow."""

import asyncio
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from fitcheck.body.placed import PlacedFile
from fitcheck.core.errors import UsageError
from fitcheck.core.toml_file import checked
from fitcheck.web.corrections import Corrections
from fitcheck.web.desk import Desk
from fitcheck.web.frame import page
from fitcheck.web.house import House, case_of, house_of, work_of
from fitcheck.web.work import Work

MOST_TRIALS = 3  # as it lies, a little to the side, a little down


def right(request: Request) -> Response:
    """The page of one fitting; the view to begin with in the query."""
    house, work = house_of(request), work_of(request)
    case_of(house, work)
    asked = request.query_params.get("view")
    return page(request, "right.html.j2", work=work, views=work.views, view=asked if asked in work.views else work.views[0])


async def all_marks(request: Request) -> Response:
    """What there is to be moved."""
    from fitcheck.web.marks import names

    house, work = house_of(request), work_of(request)
    return JSONResponse(await _marks(house, work, work.corrections) | names())


async def upright(request: Request) -> Response:
    """A photo at its full size, as its points were read in it."""
    house, work = house_of(request), work_of(request)
    found = await asyncio.wrap_future(house.bench.ask(Desk.upright, case_of(house, work), request.path_params["view"]))
    if found is None:
        raise HTTPException(404, "There is no such photo.")
    return Response(found, media_type="image/jpeg")


async def steps(request: Request) -> Response:
    """This round's alterations, drawn; whoever asks waits behind all corrections."""
    house, work = house_of(request), work_of(request)
    return HTMLResponse(await asyncio.wrap_future(house.bench.ask(Desk.steps, case_of(house, work), house.choices.told_in)))


async def trial(request: Request) -> Response:
    """The numbers as they would be: what the browser takes their slopes from while something is dragged."""
    house, work = house_of(request), work_of(request)
    asked = await _asked(request)
    if not isinstance(asked, list) or not 0 < len(asked) <= MOST_TRIALS:
        raise HTTPException(400, "Up to three trials are made at a time.")
    placed = [_placed(one) for one in asked]
    return JSONResponse(await asyncio.wrap_future(house.bench.ask(Desk.tried, case_of(house, work), placed)))


async def put(request: Request) -> Response:
    """Everything that is put right now; answers with the exact result."""
    placed = _placed(await _asked(request))
    return await _go_to(request, work_of(request).corrections.then(placed))


async def back(request: Request) -> Response:
    """One step back."""
    return await _go_to(request, work_of(request).corrections.moved(-1))


async def forth(request: Request) -> Response:
    """One step forth again."""
    return await _go_to(request, work_of(request).corrections.moved(1))


async def _go_to(request: Request, corrections: Corrections) -> Response:
    house, work = house_of(request), work_of(request)
    marks = await _marks(house, work, corrections)
    work.put_right(corrections)
    return JSONResponse(marks)


async def _marks(house: House, work: Work, corrections: Corrections) -> dict[str, Any]:
    """The result under these corrections, and whether there are others to go to from them."""
    case = case_of(house, work, corrections)
    marks = await asyncio.wrap_future(house.bench.ask(Desk.marks, case, house.choices.told_in))
    return marks | {"back": corrections.at > 0, "forth": corrections.at + 1 < len(corrections.steps)}


def _placed(said: Any) -> PlacedFile:
    if not isinstance(said, dict):
        raise UsageError("This correction cannot be read.", "Load the page again.")
    return checked(said, PlacedFile, "In what you put right", "Take the last step back, and try again.")


async def _asked(request: Request) -> Any:
    try:
        return await request.json()
    except ValueError:
        raise HTTPException(400, "This cannot be read. Load the page again.") from None


routes = [
    Route("/fitting/{id}/right", right),
    Route("/fitting/{id}/marks.json", all_marks),
    Route("/fitting/{id}/steps.html", steps),
    Route("/fitting/{id}/upright/{view}.jpg", upright),
    Route("/fitting/{id}/trial", trial, methods=["POST"]),
    Route("/fitting/{id}/placed", put, methods=["POST"]),
    Route("/fitting/{id}/back", back, methods=["POST"]),
    Route("/fitting/{id}/forth", forth, methods=["POST"]),
]
