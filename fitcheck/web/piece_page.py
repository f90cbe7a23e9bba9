"""Her own paper: a piece's photos come in, the piece is read, put right, altered, printed and kept."""

import asyncio
from collections.abc import Mapping

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from fitcheck.core.errors import FitcheckError, UsageError
from fitcheck.core.lengths import MM_PER_UNIT
from fitcheck.core.toml_file import checked
from fitcheck.web import piece_tasks
from fitcheck.web.frame import page
from fitcheck.web.house import form_of, house_of
from fitcheck.web.piece_answer import answer, begun, keep_in_diary, kept_names, wanted_of
from fitcheck.web.piece_told import asked_of, in_unit, told_of
from fitcheck.web.piece_work import Pieces, PieceWork
from fitcheck.web.uploads import take

NAMES = (
    ("front", "Front"),
    ("back", "Back"),
    ("skirt_front", "Skirt front"),
    ("skirt_back", "Skirt back"),
    ("sleeve", "Sleeve"),
    ("trousers_front", "Trousers front"),
    ("trousers_back", "Trousers back"),
    ("piece", "Another piece"),
)
KINDS: Mapping[str, str] = {"pdf": "application/pdf", "svg": "image/svg+xml", "dxf": "image/vnd.dxf", "toml": "text/plain"}


def pieces_of(request: Request) -> Pieces:
    """All pieces on the table."""
    held: Pieces = request.app.state.pieces
    return held


def piece_of(request: Request) -> PieceWork:
    """The piece that a request's address names."""
    work = pieces_of(request).get(request.path_params["id"])
    if work is None:
        raise HTTPException(404, "This piece is no longer on the table. If you kept it, it is in the diary.")
    return work


def overview(request: Request) -> Response:
    """Pieces on the table and in the diary, and the way to a new one."""
    return page(request, "pieces.html.j2", works=pieces_of(request).all(), kept=kept_names(house_of(request)))


async def begin(request: Request) -> Response:
    """A new piece: from a fitting, for the garment of another piece, out of the diary, or alone."""
    house, form = house_of(request), await form_of(request)
    work = await run_in_threadpool(begun, house, pieces_of(request), form)
    return RedirectResponse(f"/piece/{work.id}", 303)


def shown(request: Request) -> Response:
    """A piece in whatever state it is."""
    return _shown(request, piece_of(request))


def _shown(request: Request, work: PieceWork, problem: tuple[str, str] = ("", ""), status: int = 200) -> Response:
    house = house_of(request)
    unit = house.choices.units
    common = {"work": work, "problem": problem, "names": NAMES, "unit": unit, "in_unit": in_unit(work.told.allowance_mm, unit)}
    if work.piece is not None:
        found, trouble = answer(house, pieces_of(request), work)
        return page(request, "piece.html.j2", status, **common | {"problem": problem if problem[0] else trouble}, **found)
    return page(request, "piece_choose.html.j2" if work.chance else "piece_photos.html.j2", status, **common)


async def photo(request: Request) -> Response:
    """One photo, as the body of the request."""
    house, work = house_of(request), piece_of(request)
    path = await take(request.stream(), work.folder)
    try:
        small = await asyncio.wrap_future(house.bench.ask(piece_tasks.look, path))
    except FitcheckError as error:
        path.unlink(missing_ok=True)
        raise UsageError(error.problem.replace(path.name, "This photo"), error.next_step) from error
    return JSONResponse({"id": work.add(path, small)})


def small(request: Request) -> Response:
    """A photo as it is shown in the list."""
    found = [jpeg for id, _, jpeg in piece_of(request).photos if id == request.path_params["photo"]]
    if not found:
        raise HTTPException(404, "There is no such photo.")
    return Response(found[0], media_type="image/jpeg")


async def take_away(request: Request) -> Response:
    """A photo that is not wanted."""
    piece_of(request).remove((await form_of(request)).get("photo", ""))
    return JSONResponse({})


async def read(request: Request) -> Response:
    """Read the piece, by what is told of it now."""
    house, work = house_of(request), piece_of(request)
    form = await form_of(request)
    try:
        work.told = told_of(form, work.told, MM_PER_UNIT[house.choices.units])
        if not work.photos:
            raise UsageError("There is no photo of the piece yet.", "Choose one, or up to six that overlap.")
        found = await asyncio.wrap_future(house.bench.ask(piece_tasks.read, tuple(path for _, path, _ in work.photos), work.told))
    except FitcheckError as error:
        problem = error.problem
        for k, (_, path, _) in enumerate(work.photos, 1):
            problem = problem.replace(path.name, f"Photo {k}")
        return await run_in_threadpool(_shown, request, work, (problem, error.next_step), 400)
    if isinstance(found, piece_tasks.Read):
        work.was_read(found.piece, found.picture)
    else:
        work.chance = found
    return RedirectResponse(f"/piece/{work.id}", 303)


async def anew(request: Request) -> Response:
    """Back to the photos; what was put right is forgotten."""
    work = piece_of(request)
    work.steps, work.chance, work.picture = (), None, None
    return RedirectResponse(f"/piece/{work.id}", 303)


def picture(request: Request) -> Response:
    """The paper from straight above."""
    work = piece_of(request)
    found = work.picture if work.picture is not None else work.chance.picture if work.chance is not None else None
    if found is None:
        raise HTTPException(404, "There is no picture of this piece yet.")
    return Response(found.jpeg, media_type="image/jpeg")


def marks(request: Request) -> Response:
    """What there is to be moved."""
    return JSONResponse(_marks(request))


def _marks(request: Request) -> dict[str, object]:
    from fitcheck.web.piece_marks import marks_of

    work = piece_of(request)
    if work.piece is None or work.picture is None:
        raise HTTPException(409, "This piece is not read yet.")
    return marks_of(work, house_of(request).choices.told_in)


async def put(request: Request) -> Response:
    """One thing put right."""
    from fitcheck.piece.put_right import PutRight

    house, work = house_of(request), piece_of(request)
    if work.piece is None:
        raise HTTPException(409, "This piece is not read yet.")
    try:
        said = await request.json()
    except ValueError:
        raise HTTPException(400, "This cannot be read. Load the page again.") from None
    if not isinstance(said, dict):
        raise UsageError("This correction cannot be read.", "Load the page again.")
    wanted = checked(said, PutRight, "In what you put right", "Take the last step back, and try again.")
    work.put(await asyncio.wrap_future(house.bench.ask(piece_tasks.right, work.piece, wanted)))
    return JSONResponse(_marks(request))


async def back(request: Request) -> Response:
    """One step back."""
    piece_of(request).step(-1)
    return JSONResponse(_marks(request))


async def forth(request: Request) -> Response:
    """One step forth again."""
    piece_of(request).step(1)
    return JSONResponse(_marks(request))


async def alter(request: Request) -> Response:
    """What is to be altered, as the form tells it: those of the round that are ticked, others by name and amount."""
    house, work, form = house_of(request), piece_of(request), await form_of(request)
    unit = MM_PER_UNIT[house.choices.units]
    try:
        work.asked = asked_of(form, work.round.alterations, unit)
    except FitcheckError as error:
        return await run_in_threadpool(_shown, request, work, (error.problem, error.next_step), 400)
    work.kept = ""
    work.partners = tuple(name.removeprefix("with_") for name in form if name.startswith("with_"))
    return RedirectResponse(f"/piece/{work.id}#altered", 303)


def outcome(request: Request) -> Response:
    """What comes of the piece as it is now, as part of a page."""
    work = piece_of(request)
    found, trouble = answer(house_of(request), pieces_of(request), work)
    if trouble[0]:
        raise UsageError(*trouble)
    return page(request, "piece_outcome.html.j2", work=work, **found)


def drawing(request: Request) -> Response:
    """A piece drawn, as it is shown in the page."""
    found, _ = answer(house_of(request), pieces_of(request), piece_of(request))
    drawings = found["outcome"].drawings if found["outcome"] else ()
    index = int(request.path_params["index"])
    if index >= len(drawings):
        raise HTTPException(404, "There is no such drawing.")
    return Response(drawings[index].svg, media_type="image/svg+xml")


def file(request: Request) -> Response:
    """A piece as a file to print or cut by."""
    house, work = house_of(request), piece_of(request)
    kind, index = request.path_params["kind"], int(request.path_params["index"])
    wanted = wanted_of(house, pieces_of(request), work)
    if kind not in KINDS or index >= len(wanted.pieces):
        raise HTTPException(404, "There is no such file.")
    folder = house.bench.place.new_folder()
    path = folder / f"piece.{kind}"
    try:
        house.bench.ask(piece_tasks.write, wanted, index, request.query_params.get("paper", house.choices.paper), path).result()
        data = path.read_bytes()
    finally:
        path.unlink(missing_ok=True)
        folder.rmdir()
    name = f"{wanted.pieces[index].name}{'-altered' if wanted.asked else ''}.{kind}"
    how = "inline" if kind == "pdf" else "attachment"
    return Response(data, media_type=KINDS[kind], headers={"content-disposition": f'{how}; filename="{name}"'})


async def keep(request: Request) -> Response:
    """The piece, and what was altered, into the diary."""
    house, work, form = house_of(request), piece_of(request), await form_of(request)
    try:
        await run_in_threadpool(keep_in_diary, house, pieces_of(request), work, form)
    except FitcheckError as error:
        return await run_in_threadpool(_shown, request, work, (error.problem, error.next_step), 400)
    return RedirectResponse(f"/piece/{work.id}#kept", 303)


async def clear(request: Request) -> Response:
    """Away from the table, with its photos."""
    pieces_of(request).clear(piece_of(request))
    return RedirectResponse("/pieces", 303)


routes = [
    Route("/pieces", overview),
    Route("/pieces", begin, methods=["POST"]),
    Route("/piece/{id}", shown),
    Route("/piece/{id}/photo", photo, methods=["POST"]),
    Route("/piece/{id}/photos/{photo}.jpg", small),
    Route("/piece/{id}/take-away", take_away, methods=["POST"]),
    Route("/piece/{id}/read", read, methods=["POST"]),
    Route("/piece/{id}/anew", anew, methods=["POST"]),
    Route("/piece/{id}/picture.jpg", picture),
    Route("/piece/{id}/marks.json", marks),
    Route("/piece/{id}/put", put, methods=["POST"]),
    Route("/piece/{id}/back", back, methods=["POST"]),
    Route("/piece/{id}/forth", forth, methods=["POST"]),
    Route("/piece/{id}/alter", alter, methods=["POST"]),
    Route("/piece/{id}/outcome.html", outcome),
    Route("/piece/{id}/drawing/{index:int}.svg", drawing),
    Route("/piece/{id}/file/{index:int}.{kind}", file),
    Route("/piece/{id}/keep", keep, methods=["POST"]),
    Route("/piece/{id}/clear", clear, methods=["POST"]),
]
