"""The whole page as one application: every page's addresses, the static files, and what is said when something goes wrong."""

from importlib.resources import files

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from fitcheck.core.errors import FitcheckError
from fitcheck.web import (
    camera_page,
    diary_pages,
    fitting_page,
    home_page,
    new_page,
    phone_page,
    piece_page,
    print_pages,
    right_page,
    settings_page,
    words_page,
)
from fitcheck.web.faults import as_told, as_unforeseen
from fitcheck.web.frame import STYLES, page, style
from fitcheck.web.house import House, house_of
from fitcheck.web.piece_work import Pieces

PAGES = (
    home_page,
    new_page,
    phone_page,
    camera_page,
    fitting_page,
    right_page,
    piece_page,
    diary_pages,
    words_page,
    print_pages,
    settings_page,
)
KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


def build(house: House) -> Starlette:
    """The application, without its guard."""
    own = [Route("/static/{name}", static), Route("/alive", alive), Route("/stop", stop, methods=["POST"])]
    routes = [*own, *(route for one in PAGES for route in one.routes)]
    app = Starlette(routes=routes, exception_handlers={FitcheckError: _said, HTTPException: _refused, Exception: _unforeseen})
    app.state.house = house
    app.state.pieces = Pieces()
    return app


def static(request: Request) -> Response:
    """One of our own files: style sheets and scripts, by the list of what there is."""
    name = request.path_params["name"]
    kind = KINDS.get(name[name.rfind(".") :])
    if kind and name in STYLES:
        return Response(style(name), media_type=kind)
    found = {one.name: one for one in (files("fitcheck.web") / "static").iterdir()}
    if kind is None or name not in found:
        raise HTTPException(404, "There is no such file.")
    return Response(found[name].read_bytes(), media_type=kind)


def alive(request: Request) -> Response:
    """Still here."""
    return JSONResponse({})


async def stop(request: Request) -> Response:
    """The end of the program."""
    answer = page(request, "stopped.html.j2")
    house_of(request).stop()
    return answer


def _said(request: Request, error: Exception) -> Response:
    told = as_told(error)
    return _problem(request, 400, told.problem, told.next_step)


def _refused(request: Request, error: Exception) -> Response:
    code, detail = (error.status_code, error.detail) if isinstance(error, HTTPException) else (400, str(error))
    return _problem(request, code, "There is no such page." if detail == "Not Found" else detail, "")


def _unforeseen(request: Request, error: Exception) -> Response:
    unforeseen = as_unforeseen(error)
    return _problem(request, 500, unforeseen.problem, unforeseen.next_step)


def _problem(request: Request, code: int, problem: str, next_step: str) -> Response:
    """As a page for her, as data for a script."""
    if "text/html" in request.headers.get("accept", ""):
        return page(request, "problem.html.j2", code, title="That did not work", problem=problem, next_step=next_step)
    return JSONResponse({"problem": f"{problem} {next_step}".strip()}, code)
