"""A new fitting: photos come in, each is looked at, a short form tells the rest."""

import asyncio
import secrets
from typing import get_args

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from fitcheck.core.errors import FitcheckError, PhotoError
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.records import VIEWS, View
from fitcheck.web import told
from fitcheck.web.arrivals import in_list, must_take_more, take_in
from fitcheck.web.desk import Desk
from fitcheck.web.frame import page
from fitcheck.web.house import Form, House, form_of, house_of, number_of, work_of
from fitcheck.web.uploads import film_kind_of, take
from fitcheck.web.work import Work


async def begin(request: Request) -> Response:
    """A new fitting on the table, with what was said last time."""
    house, form = house_of(request), await form_of(request)
    house.bench.warm_up()
    work = house.bench.begin()
    work.facts = await run_in_threadpool(_last, house, form)
    work.fields = told.shown(work.facts, house.choices)
    return RedirectResponse(f"/fitting/{work.id}", 303)


def _last(house: House, form: Form) -> FittingFacts:
    if not house.has_diary:
        return FittingFacts()
    like = form.get("like", "")
    with house.diary() as diary:
        facts = told.said_last(diary, int(like) if like.isdecimal() else None)
    return facts if like else facts.model_copy(update={"garment": ""})


def draft(request: Request, work: Work, problem: tuple[str, str] = ("", ""), status: int = 200) -> Response:
    """The page of a fitting that is still being put together."""
    house = house_of(request)
    known = []
    if house.has_diary:
        with house.diary() as diary:
            known = diary.wearers()
    return page(
        request,
        "new.html.j2",
        status,
        work=work,
        fields=told.shown(work.facts, house.choices) | work.fields,
        views=VIEWS,
        told=told,
        known=known,
        problem=problem,
        unit=house.choices.units,
    )


async def photo(request: Request) -> Response:
    """One photo, as the body of the request; what it seems to be is told at once."""
    house, work = house_of(request), work_of(request)
    try:
        must_take_more(work)
        path = await take(request.stream(), work.folder)
        held = await take_in(house.bench, work, path, request.query_params.get("named", ""))
    except FitcheckError as error:
        return JSONResponse({"problem": f"{error.problem[:1].upper()}{error.problem[1:]} {error.next_step}"}, 400)
    return JSONResponse(in_list(held))


async def film(request: Request) -> Response:
    """A film, as the body of the request; its views are there when it has been read."""
    house, work = house_of(request), work_of(request)
    must_take_more(work)
    path = await take(request.stream(), work.folder, film_kind_of)
    house.bench.film(work, path)
    return JSONResponse({})


async def moment(request: Request) -> Response:
    """One view at another moment of the film."""
    house, work, form = house_of(request), work_of(request), await form_of(request)
    said, at = next((v for v in VIEWS if v == form.get("view")), None), form.get("moment", "")
    if said is None or work.film is None or not at.isdecimal() or int(at) >= len(work.moments):
        raise HTTPException(400, "This film is no longer here. Load the page again.")
    folder = work.folder / secrets.token_hex(8)
    asked = house.bench.ask(Desk.moment, work.film, said, work.moments[int(at)].time_s, folder)
    try:
        work.add_filmed(await asyncio.wrap_future(asked))
    except FitcheckError as error:
        raise PhotoError(error.problem.replace(work.film.name, "the film"), error.next_step) from error
    return JSONResponse({})


def moment_picture(request: Request) -> Response:
    """A moment of the film, small."""
    work, at = work_of(request), number_of(request, "moment")
    if at >= len(work.moments):
        raise HTTPException(404, "This moment is no longer here.")
    return Response(work.moments[at].small, media_type="image/jpeg")


async def view(request: Request) -> Response:
    """Which view a photo is, as she says."""
    work, form = work_of(request), await form_of(request)
    said = form.get("view", "")
    if work.photo(form.get("photo", "")) is None or said not in (*get_args(View), ""):
        raise HTTPException(400, "This photo is no longer here. Load the page again.")
    work.say_view(form["photo"], next((v for v in VIEWS if v == said), None))
    return JSONResponse({})


async def take_away(request: Request) -> Response:
    """A photo away again."""
    work_of(request).remove((await form_of(request)).get("photo", ""))
    return JSONResponse({})


async def telling(request: Request) -> Response:
    """The form as it is typed so far, so that loading the page again loses nothing."""
    work, form = work_of(request), await form_of(request)
    work.fields = {name: value[:300] for name, value in form.items()}
    return JSONResponse({})


async def check(request: Request) -> Response:
    """All is told: have it checked."""
    house, work, form = house_of(request), work_of(request), await form_of(request)
    if work.state not in ("draft", "done", "failed"):
        return RedirectResponse(f"/fitting/{work.id}", 303)
    work.fields = {name: value[:300] for name, value in form.items()}
    try:
        _ready(work)
        work.facts = told.facts_of(form, house.choices, work.facts)
    except FitcheckError as error:
        return await run_in_threadpool(draft, request, work, (error.problem, error.next_step), 400)
    work.last_round = await run_in_threadpool(house.last_round, work)
    house.door.close_for(work)
    house.bench.check(work, house.choices)
    return RedirectResponse(f"/fitting/{work.id}", 303)


def _ready(work: Work) -> None:
    views = [photo.view for photo in work.photos]
    if not views:
        raise PhotoError("There is no photo yet.", "Drop one to four photos into the frame, or choose them.")
    if None in views:
        raise PhotoError("Of one photo it is not known which view it is.", "Say it in the list beside the photo.")
    if twice := {str(v) for v in views if views.count(v) > 1}:
        raise PhotoError(
            f"Two photos are said to be the {' and '.join(sorted(twice))} view.", "Take one of them away, or say another view."
        )


def picture(request: Request) -> Response:
    """A photo as it came in, small."""
    held = work_of(request).photo(request.path_params["photo"])
    if held is None:
        raise HTTPException(404, "This photo is no longer here.")
    return Response(held.look.small, media_type="image/jpeg")


routes = [
    Route("/fittings", begin, methods=["POST"]),
    Route("/fitting/{id}/photo", photo, methods=["POST"]),
    Route("/fitting/{id}/film", film, methods=["POST"]),
    Route("/fitting/{id}/moment", moment, methods=["POST"]),
    Route("/fitting/{id}/film/{moment:int}.jpg", moment_picture),
    Route("/fitting/{id}/view", view, methods=["POST"]),
    Route("/fitting/{id}/take-away", take_away, methods=["POST"]),
    Route("/fitting/{id}/telling", telling, methods=["POST"]),
    Route("/fitting/{id}/check", check, methods=["POST"]),
    Route("/fitting/{id}/photos/{photo}.jpg", picture),
]
