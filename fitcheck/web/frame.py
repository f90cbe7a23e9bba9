"""The document around every page, and the templates that are shared with the report."""

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from fitcheck import __version__
from fitcheck.report.page import diary_frame
from fitcheck.report.words import units as write
from fitcheck.report.words.units import Units
from fitcheck.web.house import house_of
from fitcheck.web.own_words import in_own_words
from fitcheck.web.shared_templates import with_ours

STYLES = ("report.css", "diary.css")  # the report's own, served as files here


def page(request: Request, template: str, status: int = 200, **content: Any) -> Response:
    """One page, in the units that she chose."""
    units = house_of(request).choices.told_in
    made = _environment(units).get_template(template).render(version=__version__, here=request.url.path, units=units, **content)
    return HTMLResponse(in_own_words(write.keep_together(made)), status)


@cache
def _environment(units: Units) -> Environment:
    made = with_ours(diary_frame.environment(units))
    made.globals = made.globals | {"frame": "frame.html.j2"}  # the diary's pages stand in ours here
    return made


@cache
def style(name: str) -> str:
    """One of the report's style sheets."""
    return (files("fitcheck.report") / "templates" / name).read_text("utf-8")
