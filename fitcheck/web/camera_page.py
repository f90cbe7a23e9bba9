"""The computer's own camera: it shows her to herself, says what to do, and takes the four views when all is well."""

import asyncio

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from fitcheck.core.errors import FitcheckError, UsageError
from fitcheck.core.records import VIEWS
from fitcheck.web.arrivals import must_take_more
from fitcheck.web.desk import Desk
from fitcheck.web.frame import page
from fitcheck.web.house import house_of, work_of
from fitcheck.web.spoken import recording, sentences
from fitcheck.web.work import MOST_PHOTOS


def camera(request: Request) -> Response:
    """Her picture, large print, and a voice."""
    from fitcheck.film.open_film import FEWEST_SIDE_PX  # with what opens films, which this program else does without

    work = work_of(request)
    must_take_more(work)
    missing = [view for view in VIEWS if view not in {held.view for held in work.photos}]
    if not missing:
        raise UsageError("All four views are here already.", "Take the one away that you want anew, and come again.")
    if len(missing) > MOST_PHOTOS - len(work.photos):
        raise UsageError("Of some photos it is not known which view they are.", "Say it beside them, or take them away, and come again.")
    house_of(request).bench.warm_up()
    language, says = sentences()
    return page(request, "camera.html.j2", work=work, language=language, says=says, views=missing, fewest_px=FEWEST_SIDE_PX)


async def live(request: Request) -> Response:
    """A small picture out of the camera, as the body of the request: what she is to do."""
    house, work = house_of(request), work_of(request)
    view = next((one for one in VIEWS if one == request.query_params.get("view")), None)
    if view is None:
        raise HTTPException(400, "This view is not known. Load the page again.")
    try:
        must_take_more(work)
        turned = request.query_params.get("turned") == "yes"
        seen = await asyncio.wrap_future(house.bench.ask(Desk.glance, await request.body(), view, turned))
    except FitcheckError as error:
        return JSONResponse({"problem": f"{error.problem} {error.next_step}"}, 400)
    return JSONResponse({"wants": seen.wants, "where": seen.where})


def spoken(request: Request) -> Response:
    """A sentence, recorded."""
    found = recording(request.path_params["name"])
    if found is None:
        raise HTTPException(404, "This sentence is not recorded.")
    return Response(found, media_type="audio/mpeg")


routes = [
    Route("/fitting/{id}/camera", camera),
    Route("/fitting/{id}/live", live, methods=["POST"]),
    Route("/spoken/{name}.mp3", spoken),
]
