"""One browser for all tests of the page, and one running page for each file of them."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright
from web.opened import CHROMIUM, Opened, opened, window

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
