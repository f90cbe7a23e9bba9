"""What an alteration is called in the diary."""

import pytest

from fitcheck.core.advice import Amount
from fitcheck.core.diary import name_of

NAMES = {("back_length", True): "lengthen the back", ("back_length", False): "shorten the back"}


@pytest.mark.parametrize(("amount", "name"), [(8.0, "lengthen the back"), (-8.0, "shorten the back")])
def test_each_direction_has_its_name(amount, name):
    assert name_of(Amount("back_length", "both", amount, 1.0), NAMES) == name


def test_what_the_tables_no_longer_know_goes_by_its_id():
    assert name_of(Amount("old_thing", "both", 8.0, 1.0), NAMES) == "old thing"
