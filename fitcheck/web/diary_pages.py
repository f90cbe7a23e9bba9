"""What the diary holds, as pages: one recorded fitting, two rounds compared, profile, posture."""

from typing import Any

import numpy as np
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from fitcheck.core.diary import DiaryPhoto, Fitting, name_of
from fitcheck.core.records import VIEWS
from fitcheck.diary.reading import read_fitting, read_photos
from fitcheck.diary.recording import add_note
from fitcheck.diary_commands import two_rounds
from fitcheck.report.words.sentences import VIEW_TITLES
from fitcheck.report.words.units import Units
from fitcheck.web.frame import page
from fitcheck.web.house import form_of, hold_wearer, house_of, number_of
from fitcheck.web.picture import jpeg_of

SMALL_PX, LARGE_PX, SCREEN_PX = 420, 1000, 343
LONGEST_NOTE = 2000


def recorded(request: Request) -> Response:
    """One fitting as it was recorded."""
    from fitcheck.advice.page_facts import alteration_names

    house = house_of(request)
    with house.diary() as diary:
        fitting = read_fitting(diary, number_of(request, "number"))
        same = [e.number for e in diary.entries(fitting.entry.wearer, fitting.entry.garment) if e.number != fitting.entry.number]
        earlier = [number for number in same if number < fitting.entry.number]
        number = diary.wearer_number(fitting.entry.wearer)
        notes = [text for (text,) in diary.checked("note", "text", "WHERE fitting = ? ORDER BY id", [fitting.entry.number])]
    steps = [(name_of(step.amount, alteration_names()), step.amount) for step in fitting.round]
    shown = [_shown(fitting, photo, house.choices.told_in) for view in VIEWS for photo in fitting.photos if photo.view == view]
    return page(
        request, "recorded.html.j2", fitting=fitting, steps=steps, shown=shown, before=earlier[-1:], notes=notes, wearer_number=number
    )


def _shown(fitting: Fitting, photo: DiaryPhoto, units: Units) -> dict[str, Any]:
    """One photo with what was found in it."""
    from fitcheck.report.page.fitting_page import verdicts_of
    from fitcheck.report.picture.aligned import drawn
    from fitcheck.report.picture.crops import Box
    from fitcheck.report.picture.gaps import gaps_in
    from fitcheck.report.picture.overlay import Pane, overlay

    width, height = photo.size_px
    result = drawn(fitting, photo, np.zeros((height, width, 3), np.uint8))
    items = [m for m in fitting.measurements if m.from_px is not None and m.to_px is not None]
    art = overlay(result, gaps_in(result, items), verdicts_of(fitting.findings), units, Pane(Box(0, 0, width, height), SCREEN_PX))
    return {"view": photo.view, "title": VIEW_TITLES[photo.view], "size": photo.size_px, "overlay": Markup(art)}


def picture(request: Request) -> Response:
    """A recorded photo; as `cover` the first there is."""
    view, large = request.path_params["view"], "large" in request.query_params
    house = house_of(request)
    with house.diary() as diary:
        entry = diary.entry(number_of(request, "number"))
        found = [photo for photo in read_photos(diary, entry.number) if view in (photo.view, "cover")]
    first = min(found, key=lambda photo: VIEWS.index(photo.view), default=None)
    rgb = house.bench.kept.read(first, LARGE_PX if large else SMALL_PX) if first else None
    if rgb is None:
        raise HTTPException(404, "The diary's copy of this photo is missing or damaged.")
    return Response(jpeg_of(rgb), media_type="image/jpeg")


async def note(request: Request) -> Response:
    """A note about a fitting."""
    house, form, number = house_of(request), await form_of(request), number_of(request, "number")
    if text := form.get("text", "")[:LONGEST_NOTE]:
        with house.diary() as diary:
            add_note(diary, text, fitting=number)
    return RedirectResponse(f"/diary/{number}#notes", 303)


def compare(request: Request) -> Response:
    """Two rounds."""
    from fitcheck.report.page.compare_page import compare_content

    house = house_of(request)
    with house.diary() as diary:
        rounds = two_rounds(diary, number_of(request, "first"), number_of(request, "second"), house.bench.kept.read)
    shown = compare_content(rounds.comparison, rounds.pictures, rounds.targets, rounds.names, house.choices.told_in)
    return page(request, "compare.html.j2", **shown)


def profile(request: Request) -> Response:
    """Her usual alterations."""
    from fitcheck.advice.page_facts import alteration_names
    from fitcheck.diary.learnt import profile as learnt
    from fitcheck.diary.trends import posture_table
    from fitcheck.report.page.profile_page import profile_content

    with house_of(request).diary() as diary:
        found = learnt(diary, hold_wearer(diary, number_of(request, "number")), None)
    posture_names = {id: row["name"] for id, row in posture_table().items()}
    return page(request, "profile.html.j2", **profile_content(found, alteration_names(), posture_names))


def posture(request: Request) -> Response:
    """Her posture over time."""
    from fitcheck.advice.page_facts import alteration_names
    from fitcheck.diary.trends import posture_diary, posture_table
    from fitcheck.report.page.posture_page import posture_content

    house = house_of(request)
    with house.diary() as diary:
        found = posture_diary(diary, hold_wearer(diary, number_of(request, "number")), alteration_names())
    return page(request, "posture.html.j2", **posture_content(found, posture_table(), house.choices.told_in))


routes = [
    Route("/diary/{number:int}", recorded),
    Route("/diary/{number:int}/note", note, methods=["POST"]),
    Route("/diary/{number:int}/{view}.jpg", picture),
    Route("/compare/{first:int}/{second:int}", compare),
    Route("/wearer/{number:int}/profile", profile),
    Route("/wearer/{number:int}/posture", posture),
]
