"""Loading again in the middle, going back, several windows, a second program, and every way of ending."""

import signal
import time

import pytest
from playwright.sync_api import expect
from web.opened import CHECKED_MS, SAMPLES, Opened, check, drop_photos, opened, window, worked_out

from fitcheck.core.errors import PhotoError
from fitcheck.web.bench import Bench
from fitcheck.web.place import Place


@pytest.fixture(scope="module")
def answer(page) -> str:
    """A fitting that is loaded again while it is checked."""
    drop_photos(page, "control", ["front", "right"])
    page.get_by_role("button", name="Check the fit").click()
    expect(page.locator("#stage")).to_be_visible()
    page.reload()
    expect(page.locator(".lead")).to_be_visible(timeout=CHECKED_MS)
    return page.url


def test_loaded_again_in_the_middle(answer):
    assert "/fitting/" in answer


def test_back_and_forward(page, answer, server):
    page.goto(answer)
    page.goto(server.base + "/words")
    page.go_back()
    expect(page.locator(".lead")).to_be_visible()
    page.go_forward()
    expect(page.get_by_role("heading", level=1)).to_have_text("Words")


def test_two_windows_of_one_fitting(page, answer):
    page.goto(answer + "/right?view=front")
    worked_out(page)
    other = page.context.new_page()
    other.goto(answer + "/right?view=front")
    worked_out(other)
    mark = "Bust point, your left"
    page.get_by_role("button", name=mark, exact=True).focus()
    for key in ("Shift+ArrowDown", "Enter"):
        page.keyboard.press(key)
    worked_out(page)
    other.reload()
    worked_out(other)
    assert other.locator("#numbers").text_content().split("±")[0] == page.locator("#numbers").text_content().split("±")[0]
    other.close()


def test_a_second_program_beside_the_first(page, answer, browser, server):
    """Both keep their fittings, though browsers share cookies between ports."""
    with opened(server.home) as second:
        page.context.new_page().goto(second.start)
        beside = page.context.pages[-1]
        beside.wait_for_url(second.base + "/")
        expect(beside.get_by_role("heading", level=1)).to_be_visible()
        page.goto(answer)
        expect(page.locator(".lead")).to_be_visible()
        beside.goto(second.base + "/settings")
        expect(beside.get_by_role("heading", level=1)).to_be_visible()
        beside.close()
    assert server.unrecorded  # ending the second took nothing of the first


def test_a_fitting_that_is_gone(page, server):
    assert page.goto(server.base + "/fitting/nothing").status == 404
    expect(page.get_by_role("alert").first).to_contain_text("no longer on the table")


def test_the_page_says_that_the_program_was_closed(page, answer, server):
    """Last of this file's running program; then nothing of hers is left but what she chose to keep."""
    page.goto(answer)
    page.bring_to_front()
    assert server.unrecorded
    said = server.stop()
    expect(page.locator("#gone")).to_contain_text("fitcheck has been closed", timeout=CHECKED_MS)
    assert "Traceback" not in said
    assert server.process.returncode == 0
    left = [path for path in server.home.rglob("*") if path.is_file() and path.name != "starting"]
    assert [path.relative_to(server.home).as_posix() for path in left if "diary" not in path.parts] == []


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGHUP])
def test_other_ways_of_ending(tmp_path, how):
    server = Opened(tmp_path)
    said = server.stop(how)
    assert "Traceback" not in said
    assert not list((server.data / "unrecorded").glob("run-*"))


def test_a_sudden_end_is_cleaned_up_after_at_the_next_start(browser, tmp_path):
    server = Opened(tmp_path)
    page = window(browser, server)
    drop_photos(page, "control", ["front"])
    page.context.close()
    assert server.unrecorded
    server.process.send_signal(signal.SIGKILL)
    server.process.wait()
    assert server.unrecorded
    with opened(tmp_path) as again:
        assert not again.unrecorded
    assert not list((tmp_path / "tmp").iterdir())


def test_stopped_in_the_middle_of_a_check(browser, tmp_path):
    server = Opened(tmp_path)
    page = window(browser, server)
    drop_photos(page, "control", ["front", "right"])
    page.get_by_role("button", name="Check the fit").click()
    expect(page.locator("#stage")).to_be_visible()
    assert "Traceback" not in server.stop()
    assert not server.unrecorded
    page.context.close()


class FakeWork:
    """A fitting whose check goes wrong in a way of the test's."""

    def __init__(self, error: Exception) -> None:
        self.id, self.photos, self.facts = "x", (), None
        self.error = error
        self.state = "draft"

    def check(self, tell):
        raise self.error

    def cool(self):
        pass


@pytest.mark.parametrize(
    ("error", "says"),
    [(ZeroDivisionError("her name"), "ZeroDivisionError in test_going_wrong.py"), (PhotoError("It is dark.", "Add light."), "It is dark.")],
)
def test_a_crash_in_one_fitting_leaves_the_others_alive(tmp_path, error, says):
    with Place(tmp_path) as place:
        bench = Bench(place)
        broken = FakeWork(error)
        bench.check(broken)
        until = time.monotonic() + 20
        while broken.state != "failed" and time.monotonic() < until:
            time.sleep(0.01)
        assert says in broken.trouble[0]
        assert "her name" not in " ".join(broken.trouble)  # what an error says may be hers
        assert bench.do(lambda: 7).result(20) == 7
        bench.close()


def test_a_check_of_changed_photos_reads_them(browser, tmp_path):
    """A photo taken away and another put in its place after an answer: the new one is read."""
    with opened(tmp_path) as server:
        page = window(browser, server)
        drop_photos(page, "forward_shoulder", ["right"])
        check(page)
        first = page.locator(".lead").text_content()
        page.get_by_role("button", name="Change photos or details").click()
        page.get_by_role("button", name="Take away").click()
        expect(page.locator("#list li")).to_have_count(0)
        page.set_input_files("#files", SAMPLES / "control" / "right.jpg")
        expect(page.locator("#list img")).to_have_count(1, timeout=CHECKED_MS)
        check(page)
        assert page.locator(".lead").text_content() != first
        page.context.close()
