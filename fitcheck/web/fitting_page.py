"""One fitting on the table under one address: the draft, the progress of its check, the answer, and the way into the diary."""

import asyncio
import json
from collections.abc import AsyncIterator
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from fitcheck.core.errors import FitcheckError
from fitcheck.diary_commands import recorder
from fitcheck.report.words.units import Units
from fitcheck.web import told
from fitcheck.web.frame import page, part
from fitcheck.web.house import House, form_of, house_of, work_of
from fitcheck.web.new_page import draft
from fitcheck.web.work import Work

if TYPE_CHECKING:
    from fitcheck.core.check import FitCheck

TICK_S = 0.1


def fitting(request: Request) -> Response:
    """The fitting in whatever state it is."""
    work = work_of(request)
    if work.state in ("waiting", "checking"):
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
            now = json.dumps({"state": work.state, "stage": work.stage, "share": work.share})
            if now != said:
                yield f"data: {now}\n\n"
                said = now
            if work.state not in ("waiting", "checking"):
                return
            await asyncio.sleep(TICK_S)

    return StreamingResponse(told_as_it_goes(), media_type="text/event-stream")


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
        await run_in_threadpool(_record, house, work, form)
    except FitcheckError as error:
        return await run_in_threadpool(_answer, request, work, (error.problem, error.next_step), 400)
    return RedirectResponse(f"/fitting/{work.id}#recorded", 303)


def _record(house: House, work: Work, form: dict[str, str]) -> None:
    result = whole_result(house, work)
    facts = told.facts_of({name: form[name] for name in ("wearer", "garment") if name in form}, house.choices, work.facts)
    ready = recorder(str(house.diary_folder), facts, "copy", form.get("retake") == "yes")
    work.facts = facts
    work.recorded = ready.record(result, {photo.view: photo.path for photo in work.photos if photo.view})
    work.recorded_version = work.version


async def clear(request: Request) -> Response:
    """Away from the table, with its photos."""
    house_of(request).bench.clear(work_of(request))
    return RedirectResponse("/", 303)


def report(request: Request) -> Response:
    """The answer as one file to keep or print."""
    from fitcheck.report.page.fitting_page import render

    house, work = house_of(request), work_of(request)
    made = render(whole_result(house, work), house.choices.told_in)
    return Response(made, media_type="text/html", headers={"content-disposition": 'attachment; filename="report.html"'})


def whole_result(house: House, work: Work) -> "FitCheck":
    """The result with its drawings, in her units: made now where something was put right since, or her choices changed.

    Raises
    ------
    HTTPException
        There is none yet.
    """

    wanted = work.facts.model_copy(update={"units": house.choices.units, "finest": house.choices.finest})
    if work.result is not None and not (work.drawn and wanted == work.facts):

        def more_fully() -> None:
            work.facts, version = wanted, work.version
            work.check(lambda stage, share: None)
            work.version = version  # the same answer, told more fully
            house.bench.warmed(work)

        house.bench.do(more_fully).result()
    if work.result is None:
        raise HTTPException(409, "This fitting is not checked yet.")
    return work.result


def _answer(request: Request, work: Work, problem: tuple[str, str] = ("", ""), status: int = 200) -> Response:
    house = house_of(request)
    body = _body(work, whole_result(house, work), house.choices.told_in)
    before = _round_before(house, work)
    return page(request, "answer.html.j2", status, work=work, body=body, problem=problem, before=before)


def _body(work: Work, result: "FitCheck", units: Units) -> str:
    """What the report says of a result; kept, as drawing its pictures takes longer than everything else on the page."""
    from fitcheck.report.page.fitting_page import content, environment

    kept_result, kept_units, body = work.shown
    if kept_result is not result or kept_units != units:
        body = part(
            environment(units),
            "report_body.html.j2",
            put_right=f"/fitting/{work.id}/right",
            sheets=f"/fitting/{work.id}/sheet",
            **content(result, units),
        )
        work.shown = result, units, body
    return body


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
