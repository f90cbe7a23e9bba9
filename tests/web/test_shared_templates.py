"""Our templates beside the report's, with the same words."""

from dataclasses import replace

import pytest
from jinja2 import TemplateNotFound

from fitcheck.report.page.fitting_page import content, environment
from fitcheck.web.shared_templates import part, with_ours


def test_a_template_of_the_page_made_with_the_reports_words(desk, case):
    steps = desk._result(case, True).round.steps
    made = part(environment("cm"), "steps.html.j2", steps=steps)
    assert made.count("<figure") == len(steps)
    assert "<svg" in made
    assert "1.0\u00a0cm ±" in made  # the shoulder is 10 mm forward
    assert "in" in part(environment("in"), "steps.html.j2", steps=steps)
    assert "3/8\u00a0in ±" in part(environment("in"), "steps.html.j2", steps=steps)


def test_the_reports_own_are_found_too_and_stay_alone():
    assert with_ours(environment("cm")).get_template("report_body.html.j2")
    with pytest.raises(TemplateNotFound):
        environment("cm").get_template("steps.html.j2")


def test_commands_are_told_in_the_pages_words(desk, case):
    """A point that she put far off is asked about in the answer, for the terminal by what to write into a file."""
    check = desk._result(case, True)
    far = "It hardly counts: did you mean the upright photo? If it is right, say sure = true in placed.toml (or ,sure after its pixels)"
    asking = replace(check, round=replace(check.round, look_again=(far,)))
    made = part(environment("cm"), "report_body.html.j2", put_right="", sheets="", **content(asking, "cm"))
    assert "press “It is right there”" in made
    assert "placed.toml" not in made
