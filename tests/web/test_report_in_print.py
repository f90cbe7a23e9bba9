"""The report on paper, by the style sheet that it carries."""

from importlib.resources import files

from playwright.sync_api import Browser

SECTION = """<section class="photos"><h2>Your photos</h2><p class="key">does not fit</p>
<article class="photo"><figure class="whole">front</figure></article><article class="photo"><figure class="whole">back</figure></article>
<div class="usually"><h3>What such folds usually mean</h3><ul class="readings"><li>Full bust.</li></ul></div></section>"""


def test_what_folds_mean_stands_before_the_photos_on_paper_and_after_them_on_a_screen(browser: Browser) -> None:
    """After the last photo, which seldom leaves room, it took a page alone."""
    css = (files("fitcheck.report") / "templates" / "report.css").read_text("utf-8")
    page = browser.new_page()
    page.set_content(f"<style>{css}</style>{SECTION}")

    def tops(media: str) -> list[float]:
        page.emulate_media(media=media)
        return page.evaluate("['.key', '.photo', '.usually'].map(one => document.querySelector(one).getBoundingClientRect().top)")

    key, photo, usually = tops("print")
    assert key < usually < photo
    key, photo, usually = tops("screen")
    assert key < photo < usually
    page.close()
