"""Putting right what was misread: the photo with its points and lines to drag, and the numbers that follow."""

from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from fitcheck.body.placed import PlacedFile
from fitcheck.core.errors import FitcheckError, UsageError
from fitcheck.core.records import VIEWS
from fitcheck.core.toml_file import checked
from fitcheck.web.bench import as_unforeseen
from fitcheck.web.corrections import Corrections
from fitcheck.web.frame import page
from fitcheck.web.house import House, house_of, work_of
from fitcheck.web.picture import jpeg_of
from fitcheck.web.work import Work

if TYPE_CHECKING:  # what measures is loaded with the first photo
    from fitcheck.core.check import FitCheck

MOST_TRIALS = 3  # as it lies, a little to the side, a little down


def right(request: Request) -> Response:
    """The page of one fitting; the view to begin with in the query."""
    work = work_of(request)
    result = _result(work)
    views = [photo.photo.view for photo in result.photos]
    asked = request.query_params.get("view")
    return page(request, "right.html.j2", work=work, views=views, view=asked if asked in views else views[0])


def all_marks(request: Request) -> Response:
    """What there is to be moved."""
    from fitcheck.web.marks import names

    return JSONResponse(_marks(house_of(request), work_of(request)) | names())


def upright(request: Request) -> Response:
    """A photo at its full size, as its points were read in it."""
    view = request.path_params["view"]
    found = [photo.photo for photo in _result(work_of(request)).photos if photo.photo.view == view]
    if view not in VIEWS or not found:
        raise HTTPException(404, "There is no such photo.")
    return Response(jpeg_of(found[0].rgb), media_type="image/jpeg")


async def trial(request: Request) -> Response:
    """The numbers as they would be: what the browser takes their slopes from while something is dragged."""
    from fitcheck.web.trials import tried

    house, work = house_of(request), work_of(request)
    asked = await _asked(request)
    if not isinstance(asked, list) or not 0 < len(asked) <= MOST_TRIALS:
        raise HTTPException(400, "Up to three trials are made at a time.")
    try:
        placed = [_placed(one) for one in asked]
        found = await run_in_threadpool(lambda: house.bench.do(lambda: tried(work, placed)).result())
    except FitcheckError as error:
        return _problem(error)
    return JSONResponse(found)


async def put(request: Request) -> Response:
    """Everything that is put right now; answers with the exact result."""
    work = work_of(request)
    try:
        placed = _placed(await _asked(request))
    except FitcheckError as error:
        return _problem(error)
    return await _go_to(request, work.corrections.then(placed))


async def back(request: Request) -> Response:
    """One step back."""
    return await _go_to(request, work_of(request).corrections.moved(-1))


async def forth(request: Request) -> Response:
    """One step forth again."""
    return await _go_to(request, work_of(request).corrections.moved(1))


async def _go_to(request: Request, corrections: Corrections) -> Response:
    house, work = house_of(request), work_of(request)

    def solved() -> dict[str, Any]:
        work.put_right(corrections)
        house.bench.warmed(work)
        return _marks(house, work)

    try:
        return JSONResponse(await run_in_threadpool(lambda: house.bench.do(solved).result()))
    except FitcheckError as error:
        return _problem(error)
    except Exception as error:
        return _problem(as_unforeseen(error))


def _marks(house: House, work: Work) -> dict[str, Any]:
    from fitcheck.web.marks import marks

    return marks(_result(work), work.corrections, work.version, house.choices.told_in)


def _result(work: Work) -> "FitCheck":
    if work.result is None:
        raise HTTPException(409, "This fitting is not checked yet.")
    return work.result


def _placed(said: Any) -> PlacedFile:
    if not isinstance(said, dict):
        raise UsageError("This correction cannot be read.", "Load the page again.")
    return checked(said, PlacedFile, "In what you put right", "Take the last step back, and try again.")


async def _asked(request: Request) -> Any:
    try:
        return await request.json()
    except ValueError:
        raise HTTPException(400, "This cannot be read. Load the page again.") from None


def _problem(error: FitcheckError) -> Response:
    return JSONResponse({"problem": f"{error.problem} {error.next_step}"}, 400)


routes = [
    Route("/fitting/{id}/right", right),
    Route("/fitting/{id}/marks.json", all_marks),
    Route("/fitting/{id}/upright/{view}.jpg", upright),
    Route("/fitting/{id}/trial", trial, methods=["POST"]),
    Route("/fitting/{id}/placed", put, methods=["POST"]),
    Route("/fitting/{id}/back", back, methods=["POST"]),
    Route("/fitting/{id}/forth", forth, methods=["POST"]),
]
