"""What the pages of the diary share: their frame, their words, and putting them into HTML."""

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from fitcheck import __version__
from fitcheck.report.words import sentences as words
from fitcheck.report.words import units as write
from fitcheck.report.words.units import Units


def render_page(template: str, units: Units, **content: Any) -> str:
    """One page of the diary as a whole, self-contained HTML document.

    Raises
    ------
    KnowledgeError
        A sentence has a field that cannot be filled.
    """
    page: str = environment(units).get_template(template).render(version=__version__, **content)
    return write.keep_together(page)


@cache
def environment(units: Units) -> Environment:
    """The templates of the diary's pages, with their words; `frame` is the document around each."""
    made = Environment(
        loader=PackageLoader("fitcheck.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    # as they are: read as templates they would take longer than everything else on the page
    styles = files("fitcheck.report") / "templates"
    made.globals["frame"] = "diary_base.html.j2"
    made.globals["css"] = Markup("".join((styles / name).read_text("utf-8") for name in ("report.css", "diary.css")))
    made.filters |= {
        "fill": lambda text: write.fill(text, units),
        "told": lambda text: write.refill(text, units),
        "length_of": lambda mm: write.length(abs(mm), units),
        "signed": lambda mm: write.length(mm, units),
        "margin": lambda sd: write.margin(sd, units),
        "quantity": lambda value, unit: write.quantity(value, unit, units),
        "quantity_margin": lambda sd, unit: write.quantity_margin(sd, unit, units),
        "plain": words.plain,
        "sentence": lambda text: text[:1].upper() + text[1:],
        "side": words.side_words,
        "name": words.measurement_name,
        "says": lambda item: words.measurement_says(item, units),
        "day": lambda day: f"{day.day} {day:%B %Y}",
    }
    return made
