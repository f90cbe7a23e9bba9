"""Putting right what was misread: by mouse, touch and keyboard; lines taken away, renamed, drawn; back and forth."""

import tomllib

import pytest
from playwright.sync_api import Locator, Page, expect
from web.opened import CHECKED_MS, check, drop_photos, worked_out

BUST = "Bust point, your left"
NUMBER = "Bust mark, height, your left"


@pytest.fixture(scope="module")
def answer(page) -> str:
    """The address of a checked fitting of two photos."""
    drop_photos(page, "forward_shoulder", ["front", "right"], "Still missing: back, left.")
    check(page)
    return page.url


@pytest.fixture
def right(page, answer) -> Page:
    """Its page for putting right, with nothing put right yet."""
    page.goto(f"{answer}/right?view=front")
    worked_out(page)
    while page.locator("#back").is_enabled():
        page.locator("#back").click()
        worked_out(page)
    return page


def grip(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=name, exact=True)


def middle(mark: Locator) -> tuple[float, float]:
    box = mark.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def number(page: Page, name: str = NUMBER) -> str:
    text = page.locator("#numbers li", has_text=name).text_content().replace("\u00a0", " ")
    return text.split(": ")[1].split(" ±")[0]


def px_per_px(page: Page) -> float:
    """Screen pixels to a pixel of the photo."""
    return page.locator("#photo").evaluate("place => place.clientWidth") / 1500


def drag(page: Page, x: float, y: float, by: tuple[float, float]) -> None:
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by[0], y + by[1], steps=4)


def test_a_point_is_dragged_and_the_numbers_follow(right, server):
    """The bust point put 14 pixels, 13 mm, lower: the mark lies higher above it by that, or a little less, as other points have a say."""
    assert number(right) == "0.2 cm above your bust point"
    x, y = middle(grip(right, BUST))
    by = (0, 14 * px_per_px(right))
    drag(right, x, y, by)
    expect(right.locator("#glass")).to_be_visible()
    right.mouse.up()
    worked_out(right)
    exact = number(right)
    assert 0.2 + 0.8 * 1.3 < float(exact.split()[0]) < 0.2 + 1.4
    expect(right.locator("#glass")).to_be_hidden()
    expect(right.locator("#changed")).to_contain_text("The bust mark lies")
    kept = tomllib.loads(next(path for path in server.unrecorded if path.name == "placed.toml").read_text())
    assert [(p["name"], p["side"], p["view"]) for p in kept["point"]] == [("bust_point", "wearer_left", "front")]
    right.locator("#back").click()
    worked_out(right)
    drag(right, x, y, by)
    expect(right.locator("#following")).to_contain_text(exact, timeout=CHECKED_MS)  # while it is still held
    right.mouse.up()
    worked_out(right)


def test_nothing_else_jumps(right, answer):
    """Seams stay as they were read, and numbers that the point has no part in stay within half a millimetre."""
    others = ("waist_front", "bust_mark_above_R", "centre_front_off_bust", "shoulder_slope_R")
    lines = right.locator(".grip.seam .body").evaluate_all("all => all.map(one => one.getAttribute('points'))")
    before = values(right, answer)
    x, y = middle(grip(right, BUST))
    drag(right, x, y, (0, 6 * px_per_px(right)))
    right.mouse.up()
    worked_out(right)
    after = values(right, answer)
    assert after["bust_mark_above_L"] > before["bust_mark_above_L"] + 2
    known = [key for key in others if key in before]
    assert known
    assert {key: after[key] for key in known} == pytest.approx({key: before[key] for key in known}, abs=0.5)
    assert right.locator(".grip.seam .body").evaluate_all("all => all.map(one => one.getAttribute('points'))") == lines


def values(page: Page, answer: str) -> dict[str, float]:
    """The numbers themselves."""
    return {one["key"]: one["value"] for one in page.request.get(answer + "/marks.json").json()["numbers"]}


def test_arrow_keys_move_by_half_a_pixel(right):
    mark = grip(right, BUST)
    mark.focus()
    before = float(mark.locator(".body").get_attribute("cy"))
    for _ in range(3):
        right.keyboard.press("ArrowDown")
    expect(right.locator("#glass")).to_be_visible()
    assert float(mark.locator(".body").get_attribute("cy")) == pytest.approx(before + 1.5, abs=0.011)
    right.keyboard.press("Shift+ArrowDown")
    assert float(mark.locator(".body").get_attribute("cy")) == pytest.approx(before + 6.5, abs=0.011)
    right.keyboard.press("Enter")
    worked_out(right)
    assert 0.3 < float(number(right).split()[0]) < 0.9  # 6 mm lower
    assert mark.evaluate("mark => mark === document.activeElement")


def test_escape_leaves_it_as_it_was(right):
    grip(right, BUST).focus()
    for key in ("ArrowDown", "ArrowDown", "Escape"):
        right.keyboard.press(key)
    expect(right.locator("#back")).to_be_disabled()
    assert number(right) == "0.2 cm above your bust point"


def test_back_and_forth_and_loading_again(right):
    grip(right, BUST).focus()
    right.keyboard.press("Shift+ArrowDown")
    right.keyboard.press("Enter")
    worked_out(right)
    moved = number(right)
    assert moved != "0.2 cm above your bust point"
    right.keyboard.press("Control+z")
    worked_out(right)
    assert number(right) == "0.2 cm above your bust point"
    right.keyboard.press("Control+y")
    worked_out(right)
    assert number(right) == moved
    right.reload()
    worked_out(right)
    assert number(right) == moved
    expect(right.locator("#back")).to_be_enabled()
    grip(right, BUST).focus()
    right.get_by_role("button", name="As it was read").click()
    worked_out(right)
    assert number(right) == "0.2 cm above your bust point"


def test_a_line_is_no_seam(right):
    assert number(right) == "0.2 cm above your bust point"
    grip(right, "Seam line: Bust tick, your left").focus()
    right.get_by_role("button", name="This is not a seam").click()
    worked_out(right)
    expect(grip(right, "Seam line: Bust tick, your left")).to_have_count(0)
    expect(right.locator("#numbers li", has_text=NUMBER)).to_have_count(0)
    expect(right.locator("#changed")).not_to_be_empty()


def test_a_line_goes_by_another_name(right):
    """The left princess line, said to be the side seam."""
    grip(right, "Seam line: Princess, your left").focus()
    right.get_by_label("It is another line:").select_option(label="Side, your left")
    worked_out(right)
    expect(grip(right, "Seam line: Princess, your left")).to_have_count(0)
    expect(grip(right, "Seam line: Side, your left")).to_have_count(1)


def test_the_end_of_a_line_is_dragged(right):
    line = grip(right, "Seam line: Waist")
    line.focus()
    end = right.locator(".grip.end").first
    before = line.locator(".body").get_attribute("points").split()
    x, y = middle(end)
    drag(right, x, y, (-5, 3))
    right.mouse.up()
    worked_out(right)
    after = grip(right, "Seam line: Waist").locator(".body").get_attribute("points").split()
    assert after[0] != before[0]
    assert after[-1] == before[-1]


@pytest.mark.parametrize("by", ["taps", "keys"])
def test_a_line_is_drawn_where_none_was_found(right, by):
    grip(right, "Seam line: Centre front").focus()
    right.get_by_role("button", name="This is not a seam").click()
    worked_out(right)
    right.locator("#line").select_option(label="Centre front")
    right.get_by_role("button", name="Draw it").click()
    if by == "taps":
        box = right.locator("#frame").bounding_box()
        for share in (0.4, 0.5, 0.6):
            right.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] * share)
    else:
        for keys in (["Enter"], ["Shift+ArrowDown", "Enter"], ["Shift+ArrowDown", "ArrowLeft", "Enter"]):
            for key in keys:
                right.keyboard.press(key)
    right.get_by_role("button", name="Done").click()
    worked_out(right)
    expect(grip(right, "Seam line: Centre front")).to_have_count(1)
    assert "placed" in grip(right, "Seam line: Centre front").get_attribute("class")


def test_a_point_put_far_off_is_asked_about_and_hardly_counts_until_she_is_sure(right):
    x, y = middle(grip(right, BUST))
    drag(right, x, y, (60 * px_per_px(right), 60 * px_per_px(right)))
    right.mouse.up()
    worked_out(right)
    expect(right.locator("#asks")).to_contain_text("hardly counts")
    right.get_by_role("button", name="It is right there").click()
    worked_out(right)
    expect(right.locator("#asks")).to_be_empty()


def test_with_a_finger(browser, server, answer, right):
    """A phone's screen, by touch: the page does not scroll away under the finger, and the point follows it."""
    storage = right.context.storage_state()
    context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True, is_mobile=True, storage_state=storage)
    phone = context.new_page()
    phone.goto(f"{answer}/right?view=front")
    worked_out(phone)
    mark = grip(phone, BUST)
    mark.scroll_into_view_if_needed()
    x, y = middle(mark)
    wire = context.new_cdp_session(phone)
    wire.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    wire.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y + 4}]})
    wire.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y + 9}]})
    expect(phone.locator("#glass")).to_be_visible()
    box = phone.locator("#glass").bounding_box()
    assert not (box["x"] < x < box["x"] + box["width"] and box["y"] < y < box["y"] + box["height"])  # beside the finger, not under it
    wire.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    worked_out(phone)
    assert number(phone) != "0.2 cm above your bust point"
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    context.close()


def test_what_was_put_right_is_recorded_with_the_fitting(right, answer, server):
    grip(right, BUST).focus()
    right.keyboard.press("Shift+ArrowDown")
    right.keyboard.press("Enter")
    worked_out(right)
    right.get_by_role("link", name="Back to the answer").click()
    expect(right.locator(".lead")).to_be_visible(timeout=CHECKED_MS)
    assert right.locator(".diagram svg").count() > 0  # drawings are there again
    right.get_by_label("Who wears it").fill("Berta")
    right.get_by_label("Garment", exact=True).fill("blouse")
    right.get_by_role("button", name="Record in the diary").click()
    expect(right.locator("#recorded")).to_contain_text("fitting 1")
    right.goto(f"{answer}/right?view=front")
    worked_out(right)
    right.locator("#back").click()
    worked_out(right)
    right.goto(answer)
    expect(right.get_by_role("button", name="Record what was put right")).to_be_visible(timeout=CHECKED_MS)


def test_words_of_numbers_in_the_browser_are_the_programs_own(page):
    from fitcheck.report.words.units import quantity

    cases = [
        (v, kind, unit)
        for v in (0, 0.4, 0.5, 1.49, 1.5, 3.2, 9.96, 10, 25.4, 33.4, 101.6, 130.2)
        for kind, unit in (("mm", "cm"), ("mm", "in"), ("deg", "cm"))
    ]
    said = page.evaluate(
        "async cases => { const { quantity } = await import('/static/lengths.js'); return cases.map(one => quantity(...one)); }",
        [list(case) for case in cases],
    )
    assert said == [quantity(*case) for case in cases]


def test_a_line_gives_way_smoothly(page):
    """Dragged at its middle, ends that lie further than the reach stay; dragged at its end, that end follows wholly."""
    line = [[0, 10 * i] for i in range(21)]
    moved = page.evaluate(
        "async line => { const { dragged } = await import('/static/line_shape.js'); "
        "return [dragged(line, 10, 4, 0), dragged(line, 0, 4, 0)]; }",
        line,
    )
    assert moved[0][10] == [4, 100]
    assert moved[0][0] == [0, 0]
    assert moved[0][20] == [0, 200]
    assert moved[0][13] == [pytest.approx(2), 130]  # half of the reach of 60 away: half as much
    assert moved[1][0] == [4, 0]
    assert moved[1][20] == [0, 200]
