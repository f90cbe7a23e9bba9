"""Two networks need rights that not every machine gives; where they are lacking, only the tests on its own loop are collected."""

from collections.abc import Iterator

import pytest
from web.phone.pocket import LOOP, Pocket, Table
from web.phone.two_networks import possible

from fitcheck.web.phone.door import Door
from fitcheck.web.work import Work

collect_ignore = [] if possible() else ["test_two_networks.py"]


@pytest.fixture
def table() -> Table:
    return Table()


@pytest.fixture
def work(tmp_path) -> Work:
    return Work("w", tmp_path)


@pytest.fixture
def door(table) -> Iterator[Door]:
    made = Door(table, lambda: LOOP)
    yield made
    made.end()


@pytest.fixture
def phone(door, work) -> Pocket:
    door.open(work)
    return Pocket(door.link(work))
