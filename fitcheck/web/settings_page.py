"""Her choices, where the diary lies, and what is hers in it: export, import, delete."""

import re
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from fitcheck.core.errors import DiaryError, FitcheckError
from fitcheck.core.own_files import owner_only
from fitcheck.diary.archive import export_wearer
from fitcheck.diary.contract import LONGEST_NAME
from fitcheck.diary.forgetting import copies_kept, delete_fitting, delete_wearer
from fitcheck.diary.importing import import_wearer
from fitcheck.diary.rescue import rescue as rescue_diary
from fitcheck.diary.unpacking import checked_archive
from fitcheck.web.faults import as_told
from fitcheck.web.frame import page
from fitcheck.web.house import House, form_of, hold_wearer, house_of, number_of

CHUNK = 1 << 16


def settings(request: Request) -> Response:
    """The page."""
    house = house_of(request)
    wearers, trouble = [], None
    try:
        if house.has_diary:
            with house.diary() as diary:
                wearers = [(diary.wearer_number(name), name, len(diary.entries(name))) for name in diary.wearers()]
    except DiaryError as error:  # her choices, and the way to rescue it, are needed then too
        trouble = error
    folder = str(house.diary_folder.absolute())
    return page(request, "settings.html.j2", choices=house.choices, folder=folder, wearers=wearers, trouble=trouble)


async def choose(request: Request) -> Response:
    """Other choices."""
    form = await form_of(request)
    house_of(request).choose({name: form[name] for name in ("units", "finest", "paper") if name in form})
    return RedirectResponse("/settings", 303)


def export(request: Request) -> Response:
    """All of one wearer's as a zip."""
    house = house_of(request)
    folder = house.bench.place.new_folder()
    path = folder / "export.zip"
    try:
        with house.diary() as diary:
            her = hold_wearer(diary, number_of(request, "number"))
            export_wearer(diary, her, path)
        data = path.read_bytes()
    finally:
        path.unlink(missing_ok=True)
        folder.rmdir()
    name = re.sub(r"[^A-Za-z0-9_-]", "_", her)[:60] or "wearer"
    return Response(data, media_type="application/zip", headers={"content-disposition": f'attachment; filename="{name}.zip"'})


async def archive(request: Request) -> Response:
    """A zip, as the body of the request, into the diary; `as` gives her another name."""
    house = house_of(request)
    name = request.query_params.get("as", "").strip()[:LONGEST_NAME] or None
    folder = house.bench.place.new_folder()
    path = folder / "import.zip"
    try:
        with open(path, "xb", opener=owner_only) as file:
            async for chunk in request.stream():
                file.write(chunk)
        her, count = await run_in_threadpool(_import, house, path, name)
    except FitcheckError as error:
        said = as_told(error)
        return JSONResponse({"problem": f"{said.problem} {said.next_step}"}, 400)
    finally:
        path.unlink(missing_ok=True)
        folder.rmdir()
    return JSONResponse({"wearer": her, "fittings": count})


def _import(house: House, path: Path, name: str | None) -> tuple[str, int]:
    with checked_archive(path) as found, house.diary(create=True) as diary:
        return import_wearer(diary, found, name)


def ask_wearer(request: Request) -> Response:
    """What would go with a wearer."""
    with house_of(request).diary() as diary:
        her = hold_wearer(diary, number_of(request, "number"))
        entries = diary.entries(her)
    photos = sum(entry.photos for entry in entries)
    goes = f"{_many(len(entries), 'fitting')} with {_many(photos, 'photo')}, all measurements, tape measurements and notes"
    return page(request, "delete.html.j2", what=her, goes=goes, keep=f"/wearer/{number_of(request, 'number')}/export.zip")


def ask_fitting(request: Request) -> Response:
    """What would go with a fitting."""
    with house_of(request).diary() as diary:
        entry = diary.entry(number_of(request, "number"))
    what = f"the fitting of {entry.garment} of {entry.day.day} {entry.day:%B %Y}"
    goes = f"{_many(entry.photos, 'photo')} and all that was measured and noted. {entry.wearer} and her other fittings stay"
    return page(request, "delete.html.j2", what=what, goes=goes, keep="")


def delete_one_wearer(request: Request) -> Response:
    """A wearer away for good."""
    with house_of(request).diary() as diary:
        her = hold_wearer(diary, number_of(request, "number"))
        removed = delete_wearer(diary, her)
        copies = [str(copy) for copy in copies_kept(diary.folder)]
    said = ", ".join(f"{count} {name}" for name, count in removed.items() if count) or "her name"
    return page(request, "deleted.html.j2", said=said, referenced=removed["photos referenced"], copies=copies)


def delete_one_fitting(request: Request) -> Response:
    """A fitting away for good."""
    with house_of(request).diary() as diary:
        entry = delete_fitting(diary, number_of(request, "number"))
    for work in house_of(request).bench.works():
        if work.recorded == entry.number:
            work.recorded = work.recorded_version = 0
    said = f"fitting {entry.number} ({entry.garment}, {entry.day.day} {entry.day:%B %Y})"
    return page(request, "deleted.html.j2", said=said, referenced=0, copies=[])


def rescue(request: Request) -> Response:
    """What can still be read of a damaged diary, into a new one; a copy of all of it stays."""
    return page(request, "rescued.html.j2", done=rescue_diary(house_of(request).diary_folder))


def _many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


routes = [
    Route("/settings", settings),
    Route("/settings", choose, methods=["POST"]),
    Route("/wearer/{number:int}/export.zip", export),
    Route("/archive", archive, methods=["POST"]),
    Route("/settings/rescue", rescue, methods=["POST"]),
    Route("/wearer/{number:int}/delete", ask_wearer),
    Route("/wearer/{number:int}/delete", delete_one_wearer, methods=["POST"]),
    Route("/diary/{number:int}/delete", ask_fitting),
    Route("/diary/{number:int}/delete", delete_one_fitting, methods=["POST"]),
]
