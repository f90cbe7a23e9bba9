"""Letting a phone in on the page of a new fitting, and shutting it out; on this computer's own loop."""

import re

import pytest
from web.phone.pocket import LOOP, Pocket, is_shut

from fitcheck.core.errors import UsageError


@pytest.fixture
def place(asked, monkeypatch) -> str:
    """A fitting's address; the home network is the loop."""
    monkeypatch.setattr(asked.house.door, "_addresses", lambda: LOOP)
    yield asked.post("/fittings").headers["location"]
    asked.house.door.end()


def test_a_phone_is_let_in_and_shut_out(asked, place):
    assert asked.get(f"{place}/phone").data == {"open": False, "why": "", "fitting": "draft", "photos": []}
    assert asked.get(f"{place}/phone.svg").status == 404
    told = asked.post(f"{place}/phone", {"which": "0"}).data
    assert (told["open"], told["fitting"], told["photos"]) == (True, "draft", [])
    square = asked.get(f"{place}/phone.svg")
    assert square.headers["content-type"] == "image/svg+xml"
    assert re.match(rb"<\?xml|<svg", square.body)
    phone = Pocket(asked.house.door.link(asked.house.bench.get(place.removeprefix("/fitting/"))))
    told = asked.post(f"{place}/phone-out").data
    assert (told["open"], told["why"]) == (False, "You let the phone in no more.")
    assert is_shut(phone)


@pytest.mark.parametrize("which", ["", "x", "-1", "999", "1" * 50])
def test_what_is_no_address_of_the_list_is_the_first(asked, place, which):
    assert asked.post(f"{place}/phone", {"which": which}).data["open"]


def test_where_there_is_no_home_network_it_is_said(asked, place, monkeypatch):
    def none() -> tuple[str, ...]:
        raise UsageError("This computer is in no home network.", "Connect it.")

    monkeypatch.setattr(asked.house.door, "_addresses", none)
    answer = asked.post(f"{place}/phone", accept="application/json")
    assert answer.status == 400
    assert answer.data["problem"] == "This computer is in no home network. Connect it."
