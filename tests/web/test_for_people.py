"""For everybody: checked for accessibility, at every width, light and dark, enlarged, by keyboard alone, in print, and quick to appear."""

import hashlib
import os
import subprocess
import tomllib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page, expect
from web.opened import CHECKED_MS, check, drop_photos, worked_out

AXE = Path(__file__).parent / "axe"
PAINT_MS = 500
FILLED, FOOT = 0.55, 0.08  # shares of a printed page
WIDTHS = {"phone": 390, "tablet": 820, "desktop": 1280, "enlarged": 320}  # 320: a window of 640 enlarged to 200 %
PAGES = ["/", "draft", "answer", "right", "/diary/1", "/compare/1/2", "/wearer/1/profile", "/wearer/1/posture"] + [
    "/words",
    "/words/forward_shoulder",
    "/rules",
    "/set-up",
    "/settings",
    "/diary/1/delete",
    "/nothing",
]


@pytest.fixture(scope="module")
def addresses(page, server) -> dict[str, str]:
    """Two rounds in the diary, a checked fitting and a draft on the table."""
    drop_photos(page, "forward_shoulder", ["front", "right"])
    page.get_by_label("Who wears it").fill("Anna")
    page.get_by_label("Garment", exact=True).fill("summer bodice")
    check(page)
    page.get_by_role("button", name="Record in the diary").click()
    expect(page.locator("#recorded")).to_contain_text("fitting 1")
    page.goto(server.base)
    drop_photos(page, "control", ["front", "right"])
    check(page)
    answer = page.url
    page.get_by_label("Who wears it").or_(page.locator("#recorded")).first.is_visible()
    if page.locator(".record input[name=garment]").count():
        page.locator(".record input[name=garment]").fill("summer bodice")
    page.get_by_role("button", name="Record in the diary").click()
    expect(page.locator("#recorded")).to_contain_text("fitting 2")
    page.goto(server.base)
    drop_photos(page, "control", ["left"])
    draft = page.url
    return {"draft": draft, "answer": answer, "right": answer + "/right"}


def turn_to(page: Page, server, addresses, one: str) -> None:
    page.goto(addresses.get(one, server.base + one))
    if one == "right":
        worked_out(page)
    if one == "draft":
        expect(page.locator("#list img")).to_have_count(1)


def test_the_checker_is_the_one_it_should_be():
    said = tomllib.loads((AXE / "origin.toml").read_text())
    assert hashlib.sha256((AXE / "axe.min.js").read_bytes()).hexdigest() == said["sha256"]


@pytest.mark.parametrize("one", PAGES)
def test_every_page_at_every_width_light_and_dark(page, server, addresses, one):
    """No violation, and nothing sticks out."""
    turn_to(page, server, addresses, one)
    page.evaluate((AXE / "axe.min.js").read_text())
    assert violations(page, "") == []
    page.emulate_media(color_scheme="dark")
    keep_picture(page, one, "dark")
    assert violations(page, "color-contrast") == []
    page.emulate_media(color_scheme="light")
    too_wide = []
    for name, width in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": 900})
        keep_picture(page, one, name)
        if page.evaluate("document.documentElement.scrollWidth") > width:
            too_wide.append(name)
    page.set_viewport_size({"width": 1280, "height": 900})
    assert too_wide == []


def keep_picture(page: Page, one: str, how: str) -> None:
    """A picture of the page to be looked at, in the folder that FITCHECK_PICTURES names; none without, as they take long."""
    if folder := os.environ.get("FITCHECK_PICTURES"):
        name = one.strip("/").replace("/", "_") or "home"
        page.screenshot(path=Path(folder) / f"{name}_{how}.jpg", type="jpeg", quality=70, full_page=one != "/rules")


def violations(page: Page, rule: str) -> list[tuple[str, str, list[str]]]:
    """What the checker finds, by one rule or by all; the frames of no other page are there to be looked into."""
    chosen = {"resultTypes": ["violations"], **({"runOnly": [rule]} if rule else {})}
    found = page.evaluate("chosen => axe.run(document, chosen)", chosen)["violations"]
    return [(row["id"], row["help"], [node["html"][:160] for node in row["nodes"]][:4]) for row in found]


def test_fingers_hit_what_they_aim_at(page, server, addresses):
    """Buttons, fields and links in the bar are 44 pixels high."""
    page.set_viewport_size({"width": 390, "height": 800})
    for one in ("/", "draft", "answer", "/settings"):
        turn_to(page, server, addresses, one)
        things = page.locator(
            ".bar a, .bar button, main button:not(.word), main .button, main select, main input:not([type=file]):not(.toggle)"
        )
        low = things.evaluate_all(
            "all => all.filter(one => one.checkVisibility() && one.type !== 'radio').map(one => [one.outerHTML.slice(0, 80), "
            "one.getBoundingClientRect().height]).filter(one => one[1] < 43.5)"
        )
        assert low == []
    page.set_viewport_size({"width": 1280, "height": 900})


def test_the_page_is_there_at_once(page, server, addresses):
    """First contentful paint over loopback; the quickest of some, as the machine may be busy with other things."""
    for one in ("/", "draft", "answer"):
        times = []
        for _ in range(6):
            turn_to(page, server, addresses, one)
            page.wait_for_timeout(150)
            times += page.evaluate("performance.getEntriesByName('first-contentful-paint').map(entry => entry.startTime)")
        assert min(times) < PAINT_MS, (one, times)


def test_reduced_motion(page, server, addresses):
    page.emulate_media(reduced_motion="reduce")
    turn_to(page, server, addresses, "answer")
    assert page.evaluate("getComputedStyle(document.querySelector('.dose') || document.body).transitionDuration") in ("0s", "")
    assert page.evaluate("document.getAnimations().length") == 0
    page.emulate_media(reduced_motion="no-preference")


def test_in_print_there_is_nothing_to_press(page, server, addresses):
    page.emulate_media(media="print")
    turn_to(page, server, addresses, "answer")
    for what in (".bar", ".tools", ".foot form"):
        expect(page.locator(what).first).to_be_hidden()
    page.emulate_media(media="screen")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("one", ["/", "answer", "right", "/diary/1", "/compare/1/2", "/wearer/1/profile", "/wearer/1/posture", "/words"])
def test_no_printed_page_is_half_empty(page, server, addresses, tmp_path, one, paper):
    """But the last, and that is not for the foot alone."""
    turn_to(page, server, addresses, one)
    page.evaluate("Promise.all([...document.images].map(image => image.decode()))")
    page.emulate_media(media="print")
    page.pdf(path=tmp_path / "page.pdf", format=paper)
    page.emulate_media(media="screen")
    filled = [filled_share(picture) for picture in drawn_pages(tmp_path / "page.pdf")]
    assert [share for share in filled[:-1] if share < FILLED] == [], filled
    assert filled[-1] > FOOT, filled


def drawn_pages(pdf: Path) -> list[Path]:
    subprocess.run(["pdftoppm", "-r", "20", "-gray", str(pdf), str(pdf.with_suffix(""))], check=True)
    return sorted(pdf.parent.glob("page-*.pgm"))


def filled_share(picture: Path) -> float:
    """How far down a page something is drawn."""
    grey = np.asarray(Image.open(picture))
    return float(np.flatnonzero((grey < 200).any(axis=1)).max(initial=0) / len(grey))


def test_by_keyboard_alone(page, server, addresses):
    """From home to a search and to settings, without a mouse; the first stop leads past the bar."""
    turn_to(page, server, addresses, "/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")
    turn_to(page, server, addresses, "/words")
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "search":
            break
    page.keyboard.type("toile")
    expect(page.locator("#found")).to_have_text("1 found")
    turn_to(page, server, addresses, "/settings")
    page.get_by_label("centimetres").focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_label("inches with fractions")).to_be_checked()


def test_what_is_chosen_is_seen_to_be(page, server, addresses):
    """Whatever the keyboard comes to has an outline."""
    turn_to(page, server, addresses, "right")
    for _ in range(14):
        page.keyboard.press("Tab")
        seen = page.evaluate(
            "() => { const one = document.activeElement; const style = getComputedStyle(one); "
            "return style.outlineStyle !== 'none' || one.matches('.grip, .unseen, #main') }"
        )
        assert seen, page.evaluate("document.activeElement.outerHTML.slice(0, 100)")


def test_everything_has_a_name_for_those_who_hear_the_page(page, server, addresses):
    turn_to(page, server, addresses, "right")
    names = page.locator(".grip").evaluate_all("all => all.map(one => one.getAttribute('aria-label'))")
    assert len(names) > 10
    assert all(names)
    assert len(set(names)) == len(names)
    assert page.locator("main").get_by_role("status").count() >= 1
    expect(page.locator("#upright")).to_have_attribute("alt", "Photo: Front", timeout=CHECKED_MS)
