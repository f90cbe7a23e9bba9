"""What is read in brief says the same as the checked tables."""

import pytest

from fitcheck.advice.page_facts import alteration_names, target
from fitcheck.advice.table import knowledge


@pytest.mark.parametrize("sleeve", ["set_in", "none"])
def test_targets_are_those_of_the_checked_table(sleeve):
    places = knowledge().places.values()
    assert len(places) > 30
    for row, at in places:
        brief = target(row.id, at, sleeve)
        assert (brief.wanted, brief.tolerance) == (row.wanted.get(sleeve, 0.0), row.tolerance.amount)
        assert (brief.straying_sd, brief.of_body) == (row.straying(at), row.of_body)


def test_an_unknown_measurement_has_no_target():
    assert target("hem_of_the_cloak", "", "set_in") is None


def test_names_are_those_of_the_checked_table():
    rows = knowledge().alterations
    assert alteration_names() == {
        (id, plus): row.direction(1.0 if plus else -1.0).name for id, row in rows.items() for plus in (True, False)
    }
