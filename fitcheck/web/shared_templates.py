"""The templates of the page beside the report's own."""

from functools import cache
from typing import Any

from jinja2 import BaseLoader, ChoiceLoader, Environment, PackageLoader

from fitcheck.report.words import units as write
from fitcheck.web.own_words import in_own_words


def part(environment: Environment, template: str, **content: Any) -> str:
    """A part of a page by an environment of the report's, and its templates beside ours."""
    made: str = with_ours(environment).get_template(template).render(**content)
    return in_own_words(write.keep_together(made))


@cache
def with_ours(environment: Environment) -> Environment:
    """The same words, with our templates found first."""
    loaders: list[BaseLoader] = [PackageLoader("fitcheck.web"), PackageLoader("fitcheck.report")]
    return environment.overlay(loader=ChoiceLoader(loaders))
