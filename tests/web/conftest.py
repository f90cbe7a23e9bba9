"""One browser for all tests of the page, one running page for each file of them, and one desk for those that need no browser."""

from collections.abc import Iterator
from datetime import date

import pytest
from diary.conftest import fit_check, measurement, new_fitting
from playwright.sync_api import Browser, Page, expect, sync_playwright
from web.asked import Asked, AtOnce
from web.opened import CHROMIUM, SAMPLES, Opened, opened, window

from fitcheck.body.placed import PlacedFile
from fitcheck.core.fitting import FittingFacts
from fitcheck.core.progress import unheard
from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary
from fitcheck.web.case import Case, CasePhoto
from fitcheck.web.desk import Desk
from fitcheck.web.place import Place

expect.set_options(timeout=30_000)  # on a busy machine a page takes its time


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    assert CHROMIUM, "Debian's chromium is needed ('sh .ci/setup dev' installs it)"
    with sync_playwright() as player:
        yield (found := player.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"]))
        found.close()


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[Opened]:
    with opened(tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture(scope="module")
def page(browser, server) -> Iterator[Page]:
    """A window on it; a fault in a script fails the test."""
    found = window(browser, server)
    faults: list[str] = []
    found.on("pageerror", lambda error: faults.append(str(error)))
    yield found
    found.context.close()
    assert not faults


@pytest.fixture(scope="session")
def desk() -> Desk:
    return Desk(unheard)


@pytest.fixture(scope="session")
def case() -> Case:
    """A forward shoulder, seen from her right."""
    return Case("sample", (CasePhoto("right", SAMPLES / "forward_shoulder" / "right.jpg"),), FittingFacts(), PlacedFile())


@pytest.fixture
def asked(tmp_path, desk) -> Iterator[Asked]:
    """A page without server, browser or readers; nothing is recorded yet."""
    with Place(tmp_path / "place") as place:
        bench = AtOnce(place, desk)
        yield Asked(bench, tmp_path)
        bench.close()


@pytest.fixture
def recorded(asked) -> Asked:
    """The same with two rounds of Anna's bodice and one of Berta's coat in the diary: 10.2 mm behind, 0.4 mm, 10.2 mm."""
    with Diary(asked.house.diary_folder, create=True) as diary:
        record(diary, new_fitting(fit_check(1), day=date(2026, 4, 1)))
        record(diary, new_fitting(fit_check(2, (measurement(0.4),), ()), day=date(2026, 4, 2)))
        record(diary, new_fitting(fit_check(3, wearer="Berta", garment="coat"), "Berta", "coat", day=date(2026, 4, 3)))
    return asked
