"""Files that are no photos, names that try to be more than names, two wearers: said plainly, and nothing breaks."""

import io
from collections.abc import Iterator

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, expect
from web.opened import CHECKED_MS, SAMPLES, check, drop_photos

HOSTILE = "<img src=x onerror=alert(1)>\"'{{7*7}}"


def encoded(kind: str, size: tuple[int, int] = (900, 1200)) -> bytes:
    data = io.BytesIO()
    Image.fromarray(np.full((size[1], size[0], 3), 128, np.uint8)).save(data, kind)
    return data.getvalue()


@pytest.fixture
def draft(page, server) -> Iterator[Page]:
    """A new fitting without photos; it is thrown away afterwards."""
    page.goto(server.base)
    page.locator("main").get_by_role("button", name="New fitting", exact=True).click()
    page.wait_for_url("**/fitting/*")
    yield page
    page.get_by_role("button", name="Throw this fitting away").click()
    page.wait_for_url(server.base + "/")


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("front.jpg", b"", "no photo"),
        ("front.jpg", b"this is a text" * 9, "no photo"),
        ("front.gif", encoded("GIF"), "no photo"),
        ("front.svg", b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "no photo"),
        ("front.jpg", encoded("JPEG")[:3000], "This photo"),
        ("front.png", encoded("PNG", (120, 160)), "“front.png”: This photo is only 120 x 160 pixels"),
        (f"{HOSTILE}.jpg", b"<script>alert(1)</script>", f"“{HOSTILE}.jpg”"),
    ],
    ids=["empty", "text", "gif", "svg", "cut_off", "tiny", "hostile_name"],
)
def test_what_is_no_photo_is_said_to_be_none(draft, server, name, data, says):
    before = len(server.unrecorded)
    draft.set_input_files("#files", [{"name": name, "mimeType": "image/jpeg", "buffer": data}])
    expect(draft.locator("#told")).to_contain_text(says, timeout=CHECKED_MS)
    expect(draft.locator("#list li")).to_have_count(0)
    assert len(server.unrecorded) == before


def test_a_photo_of_nobody_is_kept_with_what_is_wrong_about_it(draft):
    draft.set_input_files("#files", [{"name": "x.png", "mimeType": "image/png", "buffer": encoded("PNG")}])
    expect(draft.locator("#list .doubts")).to_contain_text("No person was found", timeout=CHECKED_MS)
    draft.get_by_role("button", name="Check the fit").click()
    expect(draft.get_by_role("alert").first).to_contain_text("not known which view")
    draft.get_by_label("It shows").select_option("front")
    draft.get_by_role("button", name="Check the fit").click()
    expect(draft.locator(".problem")).to_contain_text("No", timeout=CHECKED_MS)
    expect(draft.locator("#list img")).to_have_count(1)
    draft.get_by_role("button", name="Take away").click()
    expect(draft.locator("#list li")).to_have_count(0)


def test_no_photo_at_all(draft):
    draft.get_by_role("button", name="Check the fit").click()
    expect(draft.get_by_role("alert").first).to_contain_text("There is no photo yet.")


def test_more_photos_than_views(draft):
    front = str(SAMPLES / "forward_shoulder" / "front.jpg")
    draft.set_input_files("#files", [front] * 6)
    expect(draft.locator("#told")).to_contain_text("four photos at most")
    expect(draft.locator("#list img")).to_have_count(4, timeout=CHECKED_MS)
    views = draft.locator("#list select").evaluate_all("all => all.map(one => one.value)")
    assert sorted(views) == ["", "", "", "front"]
    draft.locator("#list select").nth(1).select_option("front")
    expect(draft.locator("#told")).to_contain_text("Two photos are said to be the front view.")
    draft.get_by_role("button", name="Check the fit").click()
    expect(draft.get_by_role("alert").first).to_be_visible()


def test_what_was_typed_stays_when_something_is_wrong(draft):
    draft.set_input_files("#files", SAMPLES / "control" / "front.jpg")
    expect(draft.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
    draft.get_by_label("Garment", exact=True).fill("blouse")
    draft.get_by_text("Your tape, if you measured").click()
    draft.get_by_label("Bust, at its fullest").fill("9")
    with draft.expect_response("**/telling"):
        draft.get_by_label("Waist", exact=True).fill("a lot")
        draft.get_by_label("Waist", exact=True).blur()
    draft.reload()
    expect(draft.get_by_label("Garment", exact=True)).to_have_value("blouse")
    expect(draft.locator("#list img")).to_have_count(1)
    draft.get_by_role("button", name="Check the fit").click()
    alert = draft.get_by_role("alert").first
    expect(alert).to_contain_text("Bust, at its fullest")
    expect(alert).to_contain_text("Waist")
    expect(draft.get_by_label("Garment", exact=True)).to_have_value("blouse")


def test_two_wearers_one_with_a_hostile_name(page, server):
    ran: list[str] = []
    page.on("dialog", lambda dialog: ran.append(dialog.message))
    page.goto(server.base)
    drop_photos(page, "forward_shoulder", ["front", "right"])
    page.get_by_label("Who wears it").fill(HOSTILE)
    page.get_by_label("Garment", exact=True).fill("../../etc/passwd")
    check(page)
    page.get_by_role("button", name="Record in the diary").click()
    expect(page.locator("#recorded")).to_contain_text("fitting 1", timeout=CHECKED_MS)
    page.get_by_role("button", name="Change photos or details").click()
    page.get_by_label("Who wears it").fill("Clara")
    page.get_by_label("Garment", exact=True).fill("skirt")
    check(page)
    page.get_by_role("button", name="Record").first.click()
    expect(page.locator("#recorded")).to_contain_text("fitting 2", timeout=CHECKED_MS)
    page.goto(server.base)
    headings = page.get_by_role("heading", level=2).all_text_contents()
    assert headings == [HOSTILE, "Clara"]
    page.goto(server.base + "/wearer/1/profile")
    expect(page.get_by_role("heading", level=1)).to_have_text(HOSTILE)
    page.goto(server.base + "/settings")
    with page.expect_download() as kept:
        page.get_by_role("link", name="Export all of hers").first.click()
    assert kept.value.suggested_filename.replace("_", "").isalnum() or kept.value.suggested_filename.endswith(".zip")
    assert "/" not in kept.value.suggested_filename
    assert not ran  # no name became a script
    # and none a path
    assert not list(server.home.rglob("passwd"))
    assert {path.parent.parent.name for path in (server.data / "diary").rglob("*.jpg")} == {"photos"}
