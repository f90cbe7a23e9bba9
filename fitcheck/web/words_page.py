"""What fitcheck knows of the trade: everything with a name, to be searched, each explained; and all rules in one sheet.

The tables are read when a page first needs them: the first page should be there at once.
"""

from functools import cache

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from fitcheck.core.errors import UsageError
from fitcheck.report.words.units import fill
from fitcheck.web.frame import page
from fitcheck.web.house import house_of


def words(request: Request) -> Response:
    """All names, by kind."""
    from fitcheck.advice.folds import fold_rows
    from fitcheck.advice.table import knowledge

    table = knowledge()
    folds = {row.id: row.name for row in fold_rows().values()}
    kinds = [
        ("Alterations", sorted((row.name, id) for id, row in table.alterations.items())),
        ("What is measured", sorted((row.name, id) for id, row in table.observables.items())),
        ("Folds", sorted((name, id) for id, name in folds.items())),
        ("Words", sorted((term.word, term.word) for term in table.glossary)),
    ]
    return page(request, "words.html.j2", kinds=kinds)


def one_word(request: Request) -> Response:
    """One of them explained."""
    from fitcheck.advice.explain import explain
    from fitcheck.advice.table import knowledge

    name = request.path_params["name"]
    try:
        told = fill(explain(name, knowledge()), house_of(request).choices.told_in)
    except UsageError as error:
        next_step = f"{error.next_step} Search for it in the list of words."
        return page(request, "problem.html.j2", 404, title="No such word", problem=error.problem, next_step=next_step)
    title, _, rest = told.partition("\n")
    return page(request, "text.html.j2", title=title.lstrip("# "), kicker="What it means", text=_html(rest))


def rules(request: Request) -> Response:
    """Everything that is believed of the trade, with sources."""
    from fitcheck.advice.rules import review_sheet
    from fitcheck.advice.table import knowledge

    told = review_sheet(knowledge())
    title, _, rest = told.partition("\n")
    return page(request, "text.html.j2", title=title.lstrip("# "), kicker="To be read and corrected by a dressmaker", text=_html(rest))


def glossary(request: Request) -> Response:
    """The words that are explained wherever they stand."""
    from fitcheck.advice.table import knowledge

    return JSONResponse(
        [{"words": [t.word, *(a.strip() for a in t.also.split(",") if a.strip())], "means": t.means} for t in knowledge().glossary]
    )


@cache
def _html(text: str) -> Markup:
    from markdown_it import MarkdownIt

    return Markup(MarkdownIt("commonmark", {"html": False}).enable("table").render(text))


routes = [
    Route("/words", words),
    Route("/words.json", glossary),
    Route("/words/{name}", one_word),
    Route("/rules", rules),
]
