"""A phone in place of a memory stick: let in on the page of a new fitting, and shut out there."""

import io

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from fitcheck.web.arrivals import in_list
from fitcheck.web.house import form_of, house_of, work_of


async def let_in(request: Request) -> Response:
    """Let a phone in for this fitting."""
    which = (await form_of(request)).get("which", "")
    await run_in_threadpool(house_of(request).door.open, work_of(request), int(which) if which.isdecimal() and len(which) < 3 else 0)
    return state(request)


def state(request: Request) -> Response:
    """How far the phone is, and which photos are here."""
    work = work_of(request)
    return JSONResponse(house_of(request).door.state(work) | {"fitting": work.state, "photos": [in_list(held) for held in work.photos]})


def code(request: Request) -> Response:
    """The square that the phone's camera reads."""
    link = house_of(request).door.link(work_of(request))
    if not link:
        raise HTTPException(404, "No phone is let in now.")
    import segno  # takes a while to load, and most fittings need none

    drawn = io.BytesIO()
    segno.make(link, micro=False, error="m").save(drawn, kind="svg", omitsize=True, light="#fff")
    return Response(drawn.getvalue(), media_type="image/svg+xml")


async def shut_out(request: Request) -> Response:
    """Let the phone in no more."""
    house_of(request).door.close_for(work_of(request), "You let the phone in no more.")
    return state(request)


routes = [
    Route("/fitting/{id}/phone", let_in, methods=["POST"]),
    Route("/fitting/{id}/phone", state),
    Route("/fitting/{id}/phone.svg", code),
    Route("/fitting/{id}/phone-out", shut_out, methods=["POST"]),
]
