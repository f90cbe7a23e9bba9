"""Behind the numbers of a correction come the drawings of the round."""

from playwright.sync_api import expect
from web.opened import CHECKED_MS, check, drop_photos, worked_out


def test_the_drawings_come_behind_the_numbers(page):
    """A forward shoulder is drawn; with its tip put elsewhere, another one."""
    drop_photos(page, "forward_shoulder", ["front", "right"], "Still missing: back, left.")
    check(page)
    page.goto(page.url + "/right?view=right")
    worked_out(page)
    page.get_by_text("This round, drawn").click()
    step = page.locator("#steps figure").first
    expect(step).to_contain_text("Forward shoulder", timeout=CHECKED_MS)
    expect(step.locator("svg").first).to_be_visible()
    before = step.text_content()
    page.get_by_role("button", name="Shoulder point, your right", exact=True).focus()
    for _ in range(2):
        page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Enter")
    worked_out(page)
    expect(page.locator("#steps")).not_to_contain_text(before, timeout=CHECKED_MS)
