"""All pages as one application."""

import pytest
from starlette.exceptions import HTTPException
from starlette.routing import Route

from fitcheck.core.errors import UsageError
from fitcheck.web.app import PAGES


def broken(error: Exception) -> Route:
    def page(request):
        raise error

    return Route("/broken", page)


def test_every_address_is_one_pages_own():
    routes = [(route.path, method) for one in PAGES for route in one.routes for method in route.methods - {"HEAD"}]
    assert len(routes) > 30
    assert len(set(routes)) == len(routes)


@pytest.mark.parametrize(
    ("name", "kind", "holds"),
    [
        ("report.css", "text/css", ".dose"),
        ("diary.css", "text/css", ".tally"),
        ("page.css", "text/css", ".bar"),
        ("right.js", "text/javascript", "import"),
        ("icon.svg", "image/svg+xml", "<svg"),
    ],
)
def test_own_files(asked, name, kind, holds):
    answer = asked.get(f"/static/{name}")
    assert answer.status == 200
    assert answer.headers["content-type"].startswith(kind)
    assert holds in answer.text


@pytest.mark.parametrize("name", ["app.py", "nothing.css", "page", "..", "report.html.j2"])
def test_no_other_files(asked, name):
    assert asked.get(f"/static/{name}").status == 404


def test_it_says_that_it_is_there_and_ends_when_asked(asked):
    assert asked.get("/alive").data == {}
    assert not asked.stopped
    assert "fitcheck is closed" in asked.post("/stop").text
    assert asked.stopped == [True]


def test_an_error_of_ours_is_told_with_what_to_do(asked):
    asked.app.router.routes.append(broken(UsageError("There is <no> thread.", "Thread it with --point.")))
    page = asked.get("/broken")
    assert page.status == 400
    assert "There is &lt;no&gt; thread." in page.text
    assert '<a class="button" href="/">' in page.text
    script = asked.get("/broken", accept="application/json")
    assert (script.status, script.data) == (400, {"problem": "There is <no> thread. Thread it with --point."})


def test_a_command_in_an_error_is_told_in_the_pages_words(asked):
    asked.app.router.routes.append(broken(UsageError("It is damaged.", "Export it again with 'fitcheck diary export'.")))
    assert "</strong> Export it again under “Settings”." in asked.get("/broken").text
    assert asked.get("/broken", "*/*").data == {"problem": "It is damaged. Export it again under “Settings”."}


@pytest.mark.parametrize(("said", "told"), [("Not Found", "There is no such page."), ("It is gone.", "It is gone.")])
def test_what_is_not_there(asked, said, told):
    asked.app.router.routes.append(broken(HTTPException(404, said)))
    assert (asked.get("/broken").status, told in asked.get("/broken").text) == (404, True)


def test_a_fault_of_the_programs_own_says_kind_and_line_only(asked):
    asked.app.router.routes.append(broken(ZeroDivisionError("Anna's bust")))
    answer = asked.get("/broken")
    assert answer.status == 500
    assert "ZeroDivisionError in test_app.py" in answer.text
    assert "Anna" not in answer.text
