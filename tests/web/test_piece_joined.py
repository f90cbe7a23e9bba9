"""A piece too large for one photo, in the browser: two photos that overlap, the card moved between them."""

import re

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from scenes.sheets.drafted import skirt as skirt_of
from scenes.sheets.make import Spec, make
from web.opened import CHECKED_MS, worked_out


@pytest.fixture(scope="module")
def skirt(tmp_path_factory):
    """Its folder with both photos, and the truth."""
    folder = tmp_path_factory.mktemp("skirt")
    long = skirt_of("skirt", 1.0, 15.0, True, length=1100.0)
    truth = make(Spec(45, surface="wood", drafted=long, nested=False, photos=2, tilt_deg=6.0, size=(2400, 1800), hands=0), folder)
    return folder, truth


def put_in(page: Page, server, photos, allowance_mm: float) -> None:
    page.goto(server.base + "/pieces")
    page.get_by_role("button", name="New piece").click()
    page.set_input_files("#files", photos)
    expect(page.locator("#list img")).to_have_count(len(photos), timeout=CHECKED_MS)
    page.get_by_label("Which piece is it?").select_option("skirt_front")
    page.get_by_label("Seam allowance in the pattern").fill(f"{allowance_mm / 10:g}")
    page.get_by_role("button", name="Read the piece").click()


def test_both_halves_become_one_piece_of_the_right_size(page, server, skirt):
    folder, truth = skirt
    put_in(page, server, sorted(folder.glob("photo_*.jpg")), truth["allowance_mm"])
    expect(page.locator(".grip").first).to_be_visible(timeout=CHECKED_MS)
    worked_out(page)
    for edge in ("side", "hem", "centre"):
        true = np.hypot(*np.diff(np.array(truth["edges"][edge]), axis=0).T).sum()
        text = page.locator("#numbers li", has_text=re.compile(f"^{edge}")).text_content().replace("\u00a0", " ")
        assert float(re.search(r"([\d.]+) cm", text)[1]) * 10 == pytest.approx(true, abs=2.0), edge


def test_one_half_alone_is_cut_off_and_says_what_to_do(page, server, skirt):
    folder, truth = skirt
    put_in(page, server, [folder / "photo_1.jpg"], truth["allowance_mm"])
    expect(page.get_by_text("The piece is cut off at the picture's border.")).to_be_visible(timeout=CHECKED_MS)
    expect(page.get_by_text("take two or three photos that overlap by a third")).to_be_visible()
