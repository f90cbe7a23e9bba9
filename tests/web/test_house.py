"""What all pages share: choices, the diary, fittings and numbers in addresses, forms."""

import asyncio
from concurrent.futures import ThreadPoolExecutor

import pytest
from starlette.exceptions import HTTPException
from starlette.requests import Request
from web.asked import on_table

from fitcheck.core.errors import UsageError
from fitcheck.web.choices import Choices
from fitcheck.web.house import LARGEST_NUMBER, case_of, form_of, hold_wearer, number_of, work_of


def request(asked, body: bytes = b"", **params: object) -> Request:
    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": body, "more_body": False}

    return Request({"type": "http", "app": asked.app, "path_params": params, "headers": []}, receive)


def form(asked, body: bytes) -> dict[str, str]:
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, form_of(request(asked, body))).result()


def test_choices_of_another_window_are_seen(asked):
    assert asked.house.choices == Choices()
    asked.house.choose({"units": "in"})
    assert asked.house.choices == Choices(units="in")
    asked.house.choose({"paper": "letter"})
    assert asked.house.choices == Choices(units="in", paper="letter")
    with pytest.raises(UsageError, match="In your choices"):
        asked.house.choose({"units": "ell"})
    assert asked.house.choices.units == "in"


def test_a_diary_that_is_not_there_holds_nothing(asked):
    assert not asked.house.has_diary
    with pytest.raises(HTTPException) as told, asked.house.diary():
        pass
    assert told.value.status_code == 404
    with asked.house.diary(create=True):
        assert asked.house.has_diary


def test_a_fitting_by_its_address(asked):
    work = asked.house.bench.begin()
    assert work_of(request(asked, id=work.id)) is work
    with pytest.raises(HTTPException, match="no longer on the table"):
        work_of(request(asked, id="other"))


def test_a_case_needs_an_answer_and_is_told_as_she_chose(asked, case):
    with pytest.raises(HTTPException, match="not checked yet"):
        case_of(asked.house, asked.house.bench.begin())
    work = on_table(asked, case)
    asked.house.choose({"units": "in", "finest": "fine"})
    assert case_of(asked.house, work).facts.told_in == "in/16"
    assert case_of(asked.house, work).photos == case.photos


def test_forms(asked):
    assert form(asked, b"a=+1+&b=&c=%C3%A4") == {"a": "1", "b": "", "c": "ä"}
    for bad in (b"a=\xff", b"&".join(b"a=1" for _ in range(201))):
        with pytest.raises(HTTPException, match="cannot be read"):
            form(asked, bad)


def test_numbers_in_addresses(asked):
    assert number_of(request(asked, number="7"), "number") == 7
    with pytest.raises(HTTPException):
        number_of(request(asked, number=str(LARGEST_NUMBER + 1)), "number")


def test_wearers_by_their_numbers(recorded):
    with recorded.house.diary() as diary:
        names = {hold_wearer(diary, number) for number in (1, 2)}
        with pytest.raises(HTTPException, match="no such wearer"):
            hold_wearer(diary, 3)
    assert names == {"Anna", "Berta"}
