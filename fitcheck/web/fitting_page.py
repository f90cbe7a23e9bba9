"""One fitting on the table under one address: the draft, the progress of its check, the answer, and the way into the diary."""

import asyncio
import json
from collections.abc import AsyncIterator
from datetime import date

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from fitcheck.core.errors import FitcheckError
from fitcheck.web import told
from fitcheck.web.desk import Desk
from fitcheck.web.frame import page
from fitcheck.web.house import House, case_of, form_of, house_of, work_of
from fitcheck.web.new_page import draft
from fitcheck.web.work import Work

TICK_S = 0.1
GOES_ON = ("waiting", "checking")


def fitting(request: Request) -> Response:
    """The fitting in whatever state it is."""
    work = work_of(request)
    if work.state in GOES_ON:
        return page(request, "progress.html.j2", work=work)
    if work.state == "done":
        return _answer(request, work)
    return draft(request, work, work.trouble)


async def events(request: Request) -> Response:
    """How far the check is, as server-sent events until it ends."""
    work = work_of(request)

    async def told_as_it_goes() -> AsyncIterator[str]:
        said = ""
        while True:
            now = json.dumps({"state": work.state, "stage": work.stage, "share": work.share, **_at(work)})
            if now != said:
                yield f"data: {now}\n\n"
                said = now
            if work.state not in GOES_ON:
                return
            await asyncio.sleep(TICK_S)

    return StreamingResponse(told_as_it_goes(), media_type="text/event-stream")


def _at(work: Work) -> dict[str, str]:
    """The photo that is being read."""
    return {"view": work.at.view, "reads": work.at.says} if work.at else {"view": "", "reads": ""}


async def again(request: Request) -> Response:
    """Back to the draft, to change photos or what was told; points put right belong to the photos as they were, and stay."""
    work = work_of(request)
    if work.state in ("done", "failed"):
        work.state, work.trouble = "draft", ("", "")
        work.fields = told.shown(work.facts, house_of(request).choices)
    return RedirectResponse(f"/fitting/{work.id}", 303)


async def record(request: Request) -> Response:
    """Into the diary, or once more over what was recorded of the same photos."""
    house, work, form = house_of(request), work_of(request), await form_of(request)
    if work.state != "done":
        raise HTTPException(409, "This fitting is not checked yet.")
    try:
        await _record(house, work, form)
    except FitcheckError as error:
        return await run_in_threadpool(_answer, request, work, (error.problem, error.next_step), 400)
    return RedirectResponse(f"/fitting/{work.id}#recorded", 303)


async def _record(house: House, work: Work, form: dict[str, str]) -> None:
    facts = told.facts_of({name: form[name] for name in ("wearer", "garment") if name in form}, house.choices, work.facts)
    case, version = case_of(house, work), work.version
    retake = form.get("retake") == "yes"
    number = await asyncio.wrap_future(house.bench.ask(Desk.record, case, facts, house.diary_folder, retake))
    work.facts, work.recorded, work.recorded_version = facts, number, version


async def clear(request: Request) -> Response:
    """Away from the table, with its photos."""
    house_of(request).door.close_for(work_of(request))
    house_of(request).bench.clear(work_of(request))
    return RedirectResponse("/", 303)


def report(request: Request) -> Response:
    """The answer as one file to keep or print."""
    house, work = house_of(request), work_of(request)
    made = house.bench.ask(Desk.report, case_of(house, work), house.choices.told_in).result()
    return Response(made, media_type="text/html", headers={"content-disposition": 'attachment; filename="report.html"'})


def _answer(request: Request, work: Work, problem: tuple[str, str] = ("", ""), status: int = 200) -> Response:
    house = house_of(request)
    body, before = _body(house, work), _round_before(house, work)
    return page(request, "answer.html.j2", status, work=work, body=body, problem=problem, before=before, same_day=_same_day(house, work))


def _body(house: House, work: Work) -> str:
    """What the report says of a result; kept until it or her choices change."""
    case, units = case_of(house, work), house.choices.told_in
    kept_case, kept_units, body = work.shown
    if (kept_case, kept_units) != (case, units):
        body = house.bench.ask(Desk.answer, case, units).result()
        work.shown = case, units, body
    return body


def _same_day(house: House, work: Work) -> bool:
    """Whether the same was recorded today already, so that this may be a repeat, to learn how well photos of her repeat."""
    if work.recorded or not house.has_diary:
        return False
    with house.diary() as diary:
        entries = diary.entries(work.facts.wearer or None, work.facts.garment or None)
    return any(entry.day == date.today() for entry in entries)


def _round_before(house: House, work: Work) -> int:
    """The round before this one in the diary; 0 where there is none."""
    if not work.recorded or not house.has_diary:
        return 0
    with house.diary() as diary:
        entry = diary.entry(work.recorded)
        same = [e.number for e in diary.entries(entry.wearer, entry.garment) if not e.retake]
    at = same.index(work.recorded) if work.recorded in same else 0
    return same[at - 1] if at > 0 else 0


routes = [
    Route("/fitting/{id}", fitting),
    Route("/fitting/{id}/events", events),
    Route("/fitting/{id}/again", again, methods=["POST"]),
    Route("/fitting/{id}/record", record, methods=["POST"]),
    Route("/fitting/{id}/clear", clear, methods=["POST"]),
    Route("/fitting/{id}/report.html", report),
]
