"""The whole job without a terminal: from an empty diary to the second round compared, by a newcomer's few actions."""

import re
import zipfile

import pytest
from playwright.sync_api import Page, expect
from web.opened import CHECKED_MS, SAMPLES

MOST_ACTIONS = 12
VIEWS = ["left", "front", "back", "right"]  # in any order


@pytest.fixture(scope="module")
def first_round(page) -> tuple[Page, list[str]]:
    """A newcomer's way to her first answer, every action counted; installing and opening are the first two."""
    actions = ["install", "open"]
    page.get_by_role("button", name="New fitting").last.click()
    actions.append("new fitting")
    page.set_input_files("#files", [SAMPLES / "forward_shoulder" / f"{view}.jpg" for view in VIEWS])
    actions.append("choose photos")
    expect(page.locator("#told")).to_have_text("All four views are here.", timeout=CHECKED_MS)
    page.get_by_label("Who wears it").fill("Anna")
    actions.append("her name")
    page.get_by_label("Garment", exact=True).fill("summer bodice")
    actions.append("the garment")
    page.get_by_role("button", name="Check the fit").click()
    actions.append("check")
    expect(page.locator(".lead")).to_be_visible(timeout=CHECKED_MS)
    return page, actions


def test_a_newcomer_gets_the_round_in_few_actions(first_round):
    page, actions = first_round
    assert len(actions) <= MOST_ACTIONS
    lead = page.locator(".lead").text_content()
    assert "forward shoulder" in lead
    assert "1.0" in lead.replace("\u00a0", " ")


def test_views_were_told_from_the_photos_alone(first_round):
    """The files were sent in any order, their names say nothing to the program."""
    page, _ = first_round
    titles = page.locator(".photo h3").all_text_contents()
    assert titles == ["Front", "Your right side", "Back", "Your left side"]
    assert page.locator(".photo figcaption").first.text_content().strip().startswith("front.jpg")


def test_cautions_stay_on_the_answer(first_round):
    page, _ = first_round
    text = page.locator(".cautions").text_content()
    for word in ("Pins", "slippery", "no medical device", "doctor"):
        assert word in text


def test_a_step_is_drawn_as_a_sheet(first_round):
    page, _ = first_round
    address = page.get_by_role("link", name="at full size").first.get_attribute("href")
    answer = page.request.get(page.url.split("/fitting")[0] + address)
    assert answer.status == 200
    assert answer.body().startswith(b"%PDF")


def test_the_answer_is_kept_as_a_file(first_round):
    page, _ = first_round
    with page.expect_download() as kept:
        page.get_by_role("link", name="Keep as a file").click()
    text = kept.value.path().read_text()
    assert "default-src 'none'" in text
    assert "/fitting/" not in text


def test_words_are_explained_one_tap_away(first_round):
    page, _ = first_round
    page.locator("button.word").first.click()
    expect(page.locator("#meaning")).to_be_visible()
    assert len(page.locator("#meaning").text_content()) > 10
    page.keyboard.press("Escape")


@pytest.fixture(scope="module")
def second_round(first_round, server) -> Page:
    """Recorded; then the next round of the same garment with what was said last time, recorded too."""
    page, _ = first_round
    page.get_by_role("button", name="Record in the diary").click()
    expect(page.locator("#recorded")).to_contain_text("fitting 1")
    page.goto(server.base)
    page.get_by_role("button", name="Next round of summer bodice").click()
    expect(page.get_by_label("Who wears it")).to_have_value("Anna")
    expect(page.get_by_label("Garment", exact=True)).to_have_value("summer bodice")
    page.set_input_files("#files", [SAMPLES / "control" / f"{view}.jpg" for view in VIEWS])
    expect(page.locator("#told")).to_have_text("All four views are here.", timeout=CHECKED_MS)
    page.get_by_role("button", name="Check the fit").click()
    expect(page.locator(".lead")).to_be_visible(timeout=CHECKED_MS)
    page.get_by_role("button", name="Record in the diary").click()
    expect(page.locator("#recorded")).to_contain_text("fitting 2")
    return page


def test_two_rounds_are_compared(second_round):
    page = second_round
    page.get_by_role("link", name="Compare with the round before").click()
    expect(page.get_by_role("heading", name="Before and after")).to_be_visible()
    tally = page.locator(".tally .solved").text_content()
    assert "Shoulder seam at the tip" in tally  # 10 mm behind, then in order
    assert page.locator(".pair img").count() == 8


def test_home_shows_her_fittings_as_pictures(second_round, server):
    page = second_round
    page.goto(server.base)
    expect(page.get_by_role("heading", name="Anna")).to_be_visible()
    assert page.locator(".tile img").count() == 2
    for image in page.locator(".tile img").all():
        assert image.evaluate("image => image.decode().then(() => image.naturalWidth)") > 100


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("/diary/1", "forward shoulder"),
        ("/wearer/1/profile", "Begin the next pattern with"),
        ("/wearer/1/posture", "Every number"),
        ("/rules", "not yet reviewed"),
        ("/words/forward_shoulder", "How it is done"),
        ("/set-up", "How to stand"),
    ],
)
def test_pages_of_the_diary_and_the_trade(second_round, server, address, says):
    page = second_round
    assert page.goto(server.base + address).status == 200
    assert says.lower() in page.locator("main").text_content().lower()


def test_words_are_found_as_they_are_typed(second_round, server):
    page = second_round
    page.goto(server.base + "/words")
    page.get_by_role("searchbox").fill("forward sh")
    expect(page.locator(".kind li:visible")).to_have_count(2)  # the alteration, and the word for such shoulders
    page.locator(".kind li:visible a").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Forward shoulder")


def test_card_and_stickers_are_printed(second_round, server):
    for paper in ("a4", "letter"):
        answer = second_round.request.get(f"{server.base}/print/card-{paper}.pdf")
        assert answer.body().startswith(b"%PDF")


def test_inches_with_fractions(second_round, server):
    """10 mm are 3/8 in."""
    page = second_round
    page.goto(server.base + "/settings")
    page.get_by_label("inches with fractions").check()
    page.get_by_role("button", name="Keep").click()
    page.goto(server.base + "/compare/1/2")
    text = page.locator("main").text_content().replace("\u00a0", " ")
    assert "3/8 in" in text
    assert not re.search(r"\d cm\b", text.split("Every measurement")[1])
    page.goto(server.base + "/diary/1")  # what was said then, told in what she reads now
    lead = page.locator(".lead").text_content().replace("\u00a0", " ")
    assert "forward shoulder, 3/8 in" in lead
    page.goto(server.base)
    tiles = " ".join(page.locator(".tile").all_text_contents()).replace("\u00a0", " ")
    assert "3/8 in" in tiles
    assert not re.search(r"\d cm\b|\{", tiles)
    page.goto(server.base + "/settings")
    page.get_by_label("centimetres").check()
    page.get_by_role("button", name="Keep").click()


def test_a_note_is_kept(second_round, server):
    page = second_round
    page.goto(server.base + "/diary/2")
    page.get_by_label("A note about this fitting").fill("lengthen the <b>hem</b>")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("section[aria-labelledby=notes] li")).to_have_text("lengthen the <b>hem</b>")


def test_a_repeat_of_todays_fitting_can_be_said_to_be_one(second_round, server):
    """Offered where the same was recorded today; here it is left alone, so that both are rounds."""
    page = second_round
    page.goto(server.base)
    page.get_by_role("button", name="Next round of summer bodice").click()
    page.set_input_files("#files", SAMPLES / "control" / "front.jpg")
    expect(page.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
    page.get_by_role("button", name="Check the fit").click()
    expect(page.get_by_label("a repeat of today’s fitting")).to_be_visible(timeout=CHECKED_MS)
    page.get_by_label("a repeat of today’s fitting").check()
    page.get_by_role("button", name="Record in the diary").click()
    expect(page.locator("#recorded")).to_contain_text("fitting 3")
    page.goto(server.base + "/diary/3")
    expect(page.locator(".kicker")).to_contain_text("a repeat")
    page.get_by_role("link", name="Delete this fitting").click()
    page.get_by_role("button", name="Delete for good").click()


def test_export_delete_and_bring_in_again(second_round, server, tmp_path):
    page = second_round
    page.goto(server.base + "/settings")
    with page.expect_download() as kept:
        page.get_by_role("link", name="Export all of hers").click()
    archive = tmp_path / "anna.zip"
    kept.value.save_as(archive)
    assert len([name for name in zipfile.ZipFile(archive).namelist() if name.endswith(".jpg")]) == 8
    page.get_by_role("link", name="Delete all of hers").click()
    expect(page.locator("main")).to_contain_text("2 fittings with 8 photos")
    page.get_by_role("button", name="Delete for good").click()
    expect(page.locator("main")).to_contain_text("Removed 1 garments, 2 fittings, 8 photos copied")
    assert not list(server.data.rglob("*.jpg")) or not list((server.data / "diary").rglob("*.jpg"))
    page.goto(server.base + "/settings")
    page.set_input_files("#zip", archive)
    page.get_by_label("Another name for her").fill("Änne <i>")
    page.get_by_role("button", name="Bring in").click()
    expect(page.locator("#brought")).to_have_text("Änne <i>: 2 fittings.")
    page.goto(server.base)
    expect(page.get_by_role("heading", name="Änne <i>")).to_be_visible()
