"""The phone's own page, in a browser of a phone's width: what it says and does, for everybody who uses it."""

import hashlib
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from web.opened import SAMPLES

from fitcheck.web.case import Look
from fitcheck.web.phone.listener import PIECE_BYTES

AXE = (Path(__file__).parents[1] / "axe/axe.min.js").read_text()
STATIC = Path(__file__).parents[3] / "fitcheck/web/phone/static"
FRONT, BACK = (SAMPLES / "forward_shoulder" / f"{view}.jpg" for view in ("front", "back"))


@pytest.fixture
def phone(browser, door, work) -> Iterator[Page]:
    door.open(work)
    page = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True).new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda line: faults.append(line.text) if "Content Security" in line.text else None)
    page.goto(door.link(work))
    expect(page.locator("#choose")).to_be_visible()
    yield page
    page.context.close()
    assert not faults


def test_the_box_is_the_published_one():
    said = tomllib.loads((STATIC / "origin.toml").read_text())
    assert hashlib.sha256((STATIC / "nacl-fast.min.js").read_bytes()).hexdigest() == said["sha256"]
    assert "public domain" in (STATIC / "LICENSE").read_text()


def test_photos_one_after_the_other(phone, work, table):
    """Both arrive byte for byte; the one that should be taken again is said, with why."""
    table.looks = [Look((3, 4), "front", "", b""), Look((3, 4), "back", "This photo is blurred. Add light.", b"")]
    phone.set_input_files("#photos", [FRONT, BACK])
    expect(phone.locator("li").nth(0)).to_contain_text("shows your front")
    expect(phone.locator("li").nth(1)).to_contain_text("Take your back again. This photo is blurred.")
    assert [held.path.read_bytes() for held in work.photos] == [FRONT.read_bytes(), BACK.read_bytes()]
    expect(phone.locator("#told")).to_contain_text("Choose more")
    phone.get_by_role("button", name="That is all").click()
    expect(phone.locator("#told")).to_contain_text("Go on at your computer")
    expect(phone.locator("#choose")).to_be_hidden()


def test_a_film(phone, table, tmp_path):
    film = tmp_path / "film.mp4"
    film.write_bytes(b"\0\0\0\x18ftypmp42" + bytes(range(256)) * 9000)
    phone.set_input_files("#film", film)
    expect(phone.locator("li")).to_contain_text("The film is there")
    expect(phone.locator("#told")).to_contain_text("All is there")
    assert table.films[0].read_bytes() == film.read_bytes()


def test_what_is_no_photo_is_told_beside_its_name(phone, work):
    phone.set_input_files("#photos", {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"<script>alert(1)</script>"})
    expect(phone.locator("li")).to_contain_text("neither a photo nor a film")
    assert not work.photos


def test_loaded_again_it_goes_on_where_it_stopped(phone, work, tmp_path):
    """The phone's browser forgot the page while the camera was open: the same file chosen again is not sent from its beginning."""
    large = tmp_path / "large.jpg"
    large.write_bytes(FRONT.read_bytes() + bytes(3_000_000))
    sent: list[int] = []
    phone.route("**/say", lambda route: route.abort() if len(sent) > 3 else (sent.append(1), route.continue_()))
    phone.set_input_files("#photos", large)
    expect(phone.locator("#told")).to_contain_text("The connection is lost. Trying again")
    phone.unroute("**/say")
    phone.reload()
    expect(phone.locator("#choose")).to_be_visible()
    assert [path.stat().st_size for path in work.folder.glob("*.coming")] == [3 * PIECE_BYTES]
    bodies: list[int] = []
    phone.on("request", lambda request: bodies.append(len(request.post_data_buffer or b"")))
    phone.set_input_files("#photos", large)
    expect(phone.locator("li")).to_contain_text("shows your front")
    assert sum(bodies) < large.stat().st_size - 3 * PIECE_BYTES + 2000
    assert work.photos[0].path.read_bytes() == large.read_bytes()


def test_an_answer_that_is_not_the_computers(phone):
    """Somebody in between who answers in its stead is not believed."""
    phone.route("**/say", lambda route: route.fulfill(status=200, body=b"x" * 100))
    phone.set_input_files("#photos", FRONT)
    expect(phone.locator("#told")).to_contain_text("The connection is lost. Trying again")
    expect(phone.locator("li")).not_to_contain_text("It is there")


def test_closed_at_the_computer(phone, door, work):
    """Either nobody answers any more, or whoever is just leaving says that this code is over."""
    door.close_for(work)
    phone.set_input_files("#photos", FRONT)
    expect(phone.locator("#told")).to_contain_text(re.compile("The connection is lost|This code holds no more"))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_for_everybody(phone, scheme):
    """By the accessibility checker, at 390 and 320 pixels; buttons large enough for any finger."""
    phone.emulate_media(color_scheme=scheme)
    phone.set_input_files("#photos", [FRONT])
    expect(phone.locator("li")).to_contain_text("shows your front")
    phone.evaluate(AXE)
    found = phone.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    assert [(row["id"], [node["html"][:120] for node in row["nodes"]]) for row in found] == []
    for width in (390, 320):
        phone.set_viewport_size({"width": width, "height": 844})
        assert phone.evaluate("document.documentElement.scrollWidth") <= width
        heights = phone.locator(".button, button").evaluate_all("all => all.map(one => one.getBoundingClientRect().height)")
        assert len(heights) == 3
        assert min(heights) >= 60
