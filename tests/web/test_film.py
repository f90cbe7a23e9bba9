"""A film in place of photos: its views are shown, another moment can be chosen, and what is no film is said to be none."""

import re

import pytest
from film.drawn_film import Shot, write_film
from playwright.sync_api import Page, expect
from web.opened import CHECKED_MS, SAMPLES, check


@pytest.fixture(scope="module")
def film(tmp_path_factory):
    """Three views of a fitting; her left side is filmed last and not shown."""
    shot = Shot(rate=10, stand_s=2.0, turn_s=1.0, order=("front", "right", "back"))
    return write_film(SAMPLES / "forward_shoulder", tmp_path_factory.mktemp("film") / "IMG_0001.mov", shot)


@pytest.fixture
def draft(page, server) -> Page:
    page.goto(server.base)
    page.locator("main").get_by_role("button", name="New fitting", exact=True).click()
    page.wait_for_url("**/fitting/*")
    return page


def test_a_film_is_a_fitting(draft, server, film):
    """Taken in, read, its views shown with their times, one taken at another moment, checked; then nothing of it stays."""
    draft.get_by_label("Garment", exact=True).fill("blouse")
    draft.get_by_label("Garment", exact=True).blur()
    draft.set_input_files("#files", film)
    expect(draft.locator("#list img")).to_have_count(3, timeout=CHECKED_MS)
    expect(draft.locator("#told")).to_have_text("Still missing: left. You can also check without.")
    expect(draft.get_by_label("Garment", exact=True)).to_have_value("blouse")
    views = draft.locator("#list select").evaluate_all("all => all.map(one => one.value)")
    assert sorted(views) == ["back", "front", "right"]
    front = draft.locator("#list li", has_text="Out of the film: 0:00")
    expect(front).to_have_count(1)
    assert 8 <= draft.locator(".strip button").count() <= 10  # eight seconds, one picture each
    draft.get_by_text("Another moment of the film").click()
    draft.locator("#for-view").select_option("back")
    draft.locator(".strip button", has_text="0:07").click()
    expect(draft.locator("#list li", has_text=re.compile(r"0:06\.[45] to 0:07\.5"))).to_have_count(1, timeout=CHECKED_MS)
    expect(draft.locator("#list img")).to_have_count(3)
    check(draft)
    assert "high rounded upper back" in draft.locator(".lead").text_content().lower()
    draft.get_by_role("button", name="Change photos or details").click()
    draft.get_by_role("button", name="Throw this fitting away").click()
    draft.wait_for_url(server.base + "/")
    expect(draft.get_by_role("heading", level=1)).to_be_visible()
    draft.wait_for_timeout(500)
    assert not server.unrecorded


def test_a_photo_that_is_there_stays(draft, film):
    draft.set_input_files("#files", SAMPLES / "forward_shoulder" / "front.jpg")
    expect(draft.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
    draft.set_input_files("#files", film)
    expect(draft.locator("#list img")).to_have_count(3, timeout=CHECKED_MS)
    expect(draft.locator("#list li", has_text="Out of the film")).to_have_count(2)


@pytest.mark.parametrize("cut", [40, 60_000])
def test_a_film_that_is_cut_off(draft, server, film, cut):
    """A sentence, and the form is there again."""
    before = len(server.unrecorded)
    draft.set_input_files("#files", [{"name": "a.mov", "mimeType": "video/quicktime", "buffer": film.read_bytes()[:cut]}])
    alert = draft.get_by_role("alert").first
    expect(alert).to_contain_text("The film is no film that can be read", timeout=CHECKED_MS)
    expect(draft.locator("#drop")).to_be_visible()
    assert len(server.unrecorded) == before


def test_what_is_called_a_film_and_is_none(draft, server):
    before = len(server.unrecorded)
    draft.set_input_files("#files", [{"name": "a.mp4", "mimeType": "video/mp4", "buffer": b"<script>alert(1)</script>" * 9}])
    expect(draft.locator("#told")).to_contain_text("no film")
    assert len(server.unrecorded) == before


def test_a_correction_is_answered_while_a_film_is_read(draft, server, film):
    """Of a fitting that was checked before; afterwards the film's views are there."""
    draft.set_input_files("#files", SAMPLES / "control" / "right.jpg")
    expect(draft.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
    check(draft)
    answer = draft.url
    draft.goto(server.base)
    draft.locator("main").get_by_role("button", name="New fitting", exact=True).click()
    draft.wait_for_url("**/fitting/*")
    draft.set_input_files("#files", film)
    expect(draft.locator("#reading")).to_be_visible(timeout=CHECKED_MS)
    status = draft.evaluate(
        """async at => {
            const marks = await (await fetch(at + "/marks.json")).json();
            return (await fetch(at + "/placed", { method: "POST", body: JSON.stringify(marks.placed) })).status;
        }""",
        answer,
    )
    assert status == 200
    assert draft.locator("#reading").is_visible()
    expect(draft.locator("#list img")).to_have_count(3, timeout=CHECKED_MS)
