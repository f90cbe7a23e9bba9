"""The computer's camera, played by the browser from a film of a sample fitting: four views taken without a hand on anything."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import cv2
import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from web.before_camera import before_camera, photo, write_y4m
from web.opened import CHECKED_MS, CHROMIUM, Opened, window

AXE = (Path(__file__).parent / "axe/axe.min.js").read_text()
FULL, FEW_LINES = (1440, 1080), (960, 720)
STANDS_S = 9  # in each view; a count takes four
ALL_MS = 240_000  # of four views, on a busy machine


@pytest.fixture(scope="module")
def player(browser):
    """What started the browser of the other tests starts more of them, each with a camera of its own."""
    return browser.browser_type


@contextmanager
def camera(player, film: Path, server: Opened, start: str) -> Iterator[Page]:
    """A browser whose camera shows a film, on the page of a new fitting's camera."""
    fake = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", f"--use-file-for-fake-video-capture={film}"]
    found: Browser = player.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage", *fake])
    context = found.new_context(viewport={"width": 1280, "height": 900}, storage_state=start)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(server.base)
    page.locator("nav").get_by_role("button", name="New fitting").click()
    page.wait_for_url("**/fitting/*")
    page.get_by_role("link", name="Use this computer’s camera").click()
    yield page
    found.close()
    assert not faults


@pytest.fixture(scope="module")
def cookies(browser, server, tmp_path_factory) -> str:
    """The session of a window that has begun, for other browsers to go on with."""
    path = tmp_path_factory.mktemp("cookies") / "state.json"
    window(browser, server).context.storage_state(path=path)
    return str(path)


def test_four_views_by_themselves(player, server, cookies, tmp_path):
    """She stands in each view for nine seconds, again and again; the page asks for each, counts, and takes it."""
    views = ("front", "right", "back", "left")
    film = write_y4m(tmp_path / "film.y4m", [before_camera(photo(view), FULL) for view in views for _ in range(STANDS_S)])
    with camera(player, film, server, cookies) as page:
        page.get_by_role("button", name="Switch the camera on").click()
        expect(page.locator("#few")).to_be_hidden()
        expect(page.locator("#wanted")).to_have_text("Hold still.", timeout=CHECKED_MS)
        expect(page.locator("[data-view=front]")).to_have_class("over", timeout=CHECKED_MS)
        began, looks = time.monotonic(), int(page.locator("#camera").get_attribute("data-looks"))
        page.wait_for_timeout(3000)
        rate = (int(page.locator("#camera").get_attribute("data-looks")) - looks) / (time.monotonic() - began)
        print(f"{rate:.1f} looks a second")
        assert rate > 0.5  # three and more where nothing else runs
        page.wait_for_url(lambda address: not address.endswith("/camera"), timeout=ALL_MS)
        expect(page.locator("#list img")).to_have_count(4)
        assert page.locator("#list select").evaluate_all("all => all.map(one => one.value)") == list(views)
        expect(page.locator("#list .doubts:visible")).to_have_count(0)
        expect(page.locator("#told")).to_have_text("All four views are here.")
    sizes = sorted(cv2.imread(str(path)).shape[:2] for path in server.unrecorded)
    assert sizes == [FULL[::-1]] * 4


def test_a_back_that_passes_for_a_front_is_taken_in_the_end(player, server, cookies, tmp_path):
    """What the pictures show is told here by hand: front, right, and then a back that is taken for a front until she has stood still."""
    broad, narrow = ([[x, 0.3] for x in (0.5, 0.5 + half, 0.5 - half, 0.55, 0.45)] for half in (0.1, 0.02))
    asked: list[str] = []

    def tell(route) -> None:
        query = route.request.url.partition("?")[2]
        asked.append(query)
        turned = "turned=yes" in query
        sideways = "right" in query or "left" in query
        wants = "turn_back" if "view=back" in query and not turned else ""
        route.fulfill(json={"wants": wants, "where": narrow if sideways else broad})

    def look(route) -> None:
        named = route.request.url.rpartition("=")[2]
        route.fulfill(json={"id": named, "view": named, "seems": "front" if named == "back" else named, "trouble": False})

    film = write_y4m(tmp_path / "film.y4m", [before_camera(photo("front"), FULL)])
    with camera(player, film, server, cookies) as page:
        page.route("**/live?*", tell)
        page.route("**/photo?*", look)
        page.get_by_role("button", name="Switch the camera on").click()
        expect(page.locator("#wanted")).to_have_text("Turn so that your back faces the camera.", timeout=CHECKED_MS)
        began = time.monotonic()
        expect(page.locator("[data-view=back]")).to_have_class("over", timeout=CHECKED_MS)
        assert time.monotonic() - began > 8
    assert not any("turned" in query for query in asked if "back" not in query)


def test_a_camera_with_few_lines_only_helps_to_stand(player, server, cookies, tmp_path):
    """The phone films; nothing is taken here."""
    before = set(server.unrecorded)
    film = write_y4m(tmp_path / "film.y4m", [before_camera(photo("front"), FEW_LINES)])
    with camera(player, film, server, cookies) as page:
        page.get_by_role("button", name="Switch the camera on").click()
        expect(page.locator("#few")).to_contain_text("only 720 lines", timeout=CHECKED_MS)
        expect(page.locator("#wanted")).to_contain_text("Stay so for three seconds", timeout=CHECKED_MS)
        expect(page.locator("#wanted")).to_contain_text("your right side faces", timeout=CHECKED_MS)
    assert set(server.unrecorded) == before


def test_what_is_asked_for_is_said_aloud_from_recordings(player, server, cookies, tmp_path):
    """This browser has no voice; the sentences come from the program itself, and from nowhere else."""
    film = write_y4m(tmp_path / "film.y4m", [np.full((FULL[1], FULL[0], 3), 150, np.uint8)])
    with camera(player, film, server, cookies) as page:
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        assert page.evaluate("speechSynthesis.getVoices().length") == 0
        with page.expect_response("**/spoken/nobody.mp3", timeout=CHECKED_MS) as said:
            page.get_by_role("button", name="Switch the camera on").click()
        assert said.value.headers["content-type"] == "audio/mpeg"
        expect(page.locator("#wanted")).to_have_text("Step into the picture, from head to feet.")
        assert all(address.startswith(server.base) for address in asked)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_for_everybody(browser, server, cookies, scheme):
    """By the accessibility checker, and nothing sticks out at a phone's width."""
    page = browser.new_context(storage_state=cookies, color_scheme=scheme).new_page()
    page.goto(server.base)
    page.locator("nav").get_by_role("button", name="New fitting").click()
    page.get_by_role("link", name="Use this computer’s camera").click()
    expect(page.get_by_role("button", name="Switch the camera on")).to_be_visible()
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    assert [(row["id"], [node["html"][:120] for node in row["nodes"]]) for row in found] == []
    for width in (1280, 390, 320):
        page.set_viewport_size({"width": width, "height": 844})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.context.close()


def test_no_camera(browser, server, cookies):
    """A browser without one says so, and what else there is."""
    page = browser.new_context(storage_state=cookies).new_page()
    page.goto(server.base)
    page.locator("nav").get_by_role("button", name="New fitting").click()
    page.get_by_role("link", name="Use this computer’s camera").click()
    page.get_by_role("button", name="Switch the camera on").click()
    expect(page.locator("#wanted")).to_contain_text("The camera cannot be used.")
    page.context.close()
