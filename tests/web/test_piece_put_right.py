"""A pattern piece in the browser, as she would: its photo dropped, what was read put right, altered and printed; for everybody."""

import json
import re

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from scenes.sheets.drafted import bodice
from scenes.sheets.make import Spec, make
from web.opened import CHECKED_MS, worked_out
from web.test_for_people import AXE, WIDTHS, keep_picture, violations

FRONT = bodice("front", 1.0, 0.0, False, True)


@pytest.fixture(scope="module")
def photos(tmp_path_factory):
    """A front with a side dart on wood, and nested sizes of a skirt."""
    folder = tmp_path_factory.mktemp("photos")
    make(Spec(31, surface="wood", nested=False, drafted=FRONT, tilt_deg=8.0, size=(2000, 1500), hands=0), folder / "front")
    make(Spec(11, surface="dark", piece="skirt", nested=True, size=(2800, 2100), hands=0, tilt_deg=5.0), folder / "nested")
    return folder


@pytest.fixture(scope="module")
def read(page, server, photos) -> Page:
    """A front that was read."""
    page.goto(server.base)
    page.get_by_role("link", name="Pieces").click()
    page.get_by_role("button", name="New piece").click()
    page.set_input_files("#files", photos / "front" / "photo_1.jpg")
    expect(page.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
    page.get_by_label("Seam allowance in the pattern").fill("0")
    page.get_by_role("button", name="Read the piece").click()
    expect(page.locator(".grip").first).to_be_visible(timeout=CHECKED_MS)
    worked_out(page)
    return page


def grip(page: Page, name: str):
    return page.locator(f'.grip[aria-label^="{name}"]')


def told(page: Page, edge: str) -> float:
    """The length of an edge as the page tells it, cm."""
    text = page.locator("#numbers li", has_text=re.compile(f"^{edge}")).text_content().replace("\u00a0", " ")
    return float(re.search(r"([\d.]+) cm", text)[1])


def test_edges_are_told_with_their_lengths(read):
    assert told(read, "shoulder") == pytest.approx(12.8, abs=0.2)
    assert grip(read, "Point of dart 1").count() == 1
    assert grip(read, "Notch").count() == 2


def test_a_corner_is_dragged_and_taken_back(read):
    before = told(read, "shoulder")
    box = grip(read, "Corner of shoulder and armhole").locator(".body").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    read.mouse.move(x, y)
    read.mouse.down()
    read.mouse.move(x + 10, y, steps=3)
    expect(read.locator("#glass")).to_be_visible()
    read.mouse.move(x + 20, y, steps=3)
    read.mouse.up()
    worked_out(read)
    assert told(read, "shoulder") > before + 0.4
    read.get_by_role("button", name="Undo").click()
    worked_out(read)
    assert told(read, "shoulder") == before
    read.get_by_role("button", name="Redo").click()
    worked_out(read)
    assert told(read, "shoulder") > before + 0.4
    read.get_by_role("button", name="Undo").click()
    worked_out(read)


def test_the_point_of_the_dart_is_moved_by_keys(read):
    circle = grip(read, "Point of dart 1").locator(".body")
    before = float(circle.get_attribute("cx"))
    grip(read, "Point of dart 1").focus()
    for _ in range(3):
        read.keyboard.press("Shift+ArrowRight")
    read.keyboard.press("Enter")
    worked_out(read)
    assert float(circle.get_attribute("cx")) == pytest.approx(before + 15, abs=0.1)


def test_an_edge_gets_another_name(read):
    grip(read, "Seam line: waist").focus()
    read.get_by_label("This edge is the").select_option("hem")
    worked_out(read)
    assert grip(read, "Seam line: hem").count() == 1
    grip(read, "Seam line: hem").focus()
    read.get_by_label("This edge is the").select_option("waist")
    worked_out(read)
    assert grip(read, "Seam line: waist").count() == 1


def test_a_dart_is_taken_away_and_put_in_by_three_taps(read):
    places = [grip(read, f"{part} of dart 1").locator(".body").bounding_box() for part in ("First leg", "Point", "Second leg")]
    grip(read, "Point of dart 1").focus()
    read.get_by_role("button", name="Take this dart away").click()
    worked_out(read)
    assert grip(read, "Seam line: side,").count() == 1
    read.get_by_role("button", name="Add a dart").click()
    for box in places:
        read.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    worked_out(read)
    assert grip(read, "Point of dart 1").count() == 1
    assert grip(read, "Seam line: side upper").count() == 1


def test_the_allowance_makes_seams_shorter(read):
    before = told(read, "shoulder")
    read.locator("#allowance").fill("1.5")
    read.locator("#allowance").press("Tab")
    worked_out(read)
    assert told(read, "shoulder") != before
    read.locator("#allowance").fill("0")
    read.locator("#allowance").press("Tab")
    worked_out(read)
    assert told(read, "shoulder") == before


def with_a_fuller_bust(read: Page) -> None:
    """Unless it is altered already: every test stands by itself."""
    if read.locator("figcaption").filter(has_text="altered").count():
        return
    read.get_by_label("Alteration 1").select_option("full_small_bust")
    read.locator("#amount_0").fill("1.5")
    read.get_by_role("button", name="Alter", exact=True).click()
    expect(read.locator("figcaption")).to_contain_text("altered", timeout=CHECKED_MS)


def test_a_fuller_bust_is_drawn_told_and_printed(read, server):
    with_a_fuller_bust(read)
    assert read.locator(".piece-drawing img").evaluate("image => image.decode().then(() => image.naturalWidth)") > 100
    text = read.locator("#outcome").text_content().replace("\u00a0", " ")
    assert re.search(r"The waist of the front becomes 1\.5 cm longer", text)
    assert "princess" not in text.lower()
    for link in read.locator(".piece-drawing .tools a").all():
        answer = read.request.get(server.base + link.get_attribute("href"))
        assert answer.ok
        assert len(answer.body()) > 1000


def test_it_is_for_everybody(read):
    """No violation; nothing sticks out at any width; everything that is moved has a name of its own."""
    read.evaluate((AXE / "axe.min.js").read_text())
    assert violations(read, "") == []
    read.emulate_media(color_scheme="dark")
    assert violations(read, "color-contrast") == []
    read.emulate_media(color_scheme="light")
    names = read.locator(".grip").evaluate_all("all => all.map(one => one.getAttribute('aria-label'))")
    assert all(names)
    assert len(set(names)) == len(names)
    too_wide = []
    for name, width in WIDTHS.items():
        read.set_viewport_size({"width": width, "height": 900})
        keep_picture(read, "piece", name)
        if read.evaluate("document.documentElement.scrollWidth") > width:
            too_wide.append(name)
    read.set_viewport_size({"width": 1280, "height": 900})
    assert too_wide == []


def test_it_is_kept_and_found_again(read, server):
    with_a_fuller_bust(read)
    read.locator(".record input[name=wearer]").fill("Anna")
    read.locator(".record input[name=garment]").fill("summer bodice")
    read.get_by_role("button", name="Keep in the diary").click()
    expect(read.locator(".done")).to_contain_text("Kept in the diary with summer bodice of Anna")
    read.goto(server.base + "/pieces")
    read.evaluate((AXE / "axe.min.js").read_text())
    assert violations(read, "") == []
    read.get_by_role("button", name="Front: next round").click()
    expect(read.locator(".grip").first).to_be_visible(timeout=CHECKED_MS)
    worked_out(read)
    assert told(read, "waist") == pytest.approx(23.1, abs=0.3)  # 21.6 and the 1.5 that went in


def test_a_size_line_is_clicked(page, server, photos):
    truth = json.loads((photos / "nested" / "truth.json").read_text())
    page.goto(server.base + "/pieces")
    page.get_by_role("button", name="New piece").click()
    page.set_input_files("#files", photos / "nested" / "photo_1.jpg")
    expect(page.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
    page.get_by_label("Which piece is it?").select_option("skirt_front")
    page.get_by_role("button", name="Read the piece").click()
    expect(page.get_by_role("heading", name="Which is yours?")).to_be_visible(timeout=CHECKED_MS)
    page.evaluate((AXE / "axe.min.js").read_text())
    assert violations(page, "") == []
    page.locator(f'input[value="{truth["style"]}"]').check()
    page.get_by_role("button", name="Read this one").click()
    expect(page.locator(".grip").first).to_be_visible(timeout=CHECKED_MS)
    worked_out(page)
    by_name = told(page, "side")
    page.get_by_role("button", name="Read it anew from its photos").click()
    page.get_by_role("button", name="Read the piece").click()
    button, image = page.locator("#click"), page.locator("#click img")
    image.evaluate("image => image.decode()")
    box, size = image.bounding_box(), image.evaluate("image => [image.naturalWidth, image.naturalHeight]")
    share = (in_card(truth) - json.loads(button.get_attribute("data-low"))) / float(button.get_attribute("data-mm")) / size
    image.click(position={"x": box["width"] * share[0], "y": box["height"] * share[1]})
    expect(page.locator(".grip").first).to_be_visible(timeout=CHECKED_MS)
    worked_out(page)
    assert told(page, "side") == by_name


def in_card(truth) -> np.ndarray:
    """A place on the true cutting line, the notch of its side seam, where other sizes lie a centimetre off, in the frame of the card."""
    place, card = np.array(truth["notches"][0]), truth["cards"][0]
    turn = np.radians(card["turn_deg"])
    return (place - card["middle"]) @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])


def test_a_file_that_is_no_photo_is_told(page, server, tmp_path):
    (tmp_path / "words.jpg").write_text("no photo at all, only words")
    page.goto(server.base + "/pieces")
    page.get_by_role("button", name="New piece").click()
    expect(page.get_by_role("button", name="Read the piece")).to_be_disabled()
    page.set_input_files("#files", tmp_path / "words.jpg")
    expect(page.locator("#told")).to_contain_text("no photo that can be read")
