"""Loading again in the middle, going back, several windows, a second program, and every way of ending."""

import os
import signal
from datetime import date
from pathlib import Path

import pytest
from diary.conftest import fit_check, new_fitting
from playwright.sync_api import expect
from web.killing_decoder import DEADLY, DECODER
from web.opened import CHECKED_MS, SAMPLES, Opened, check, drop_photos, opened, window, worked_out

from fitcheck.diary.recording import record
from fitcheck.diary.store import Diary


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


def kill_reader(server: Opened, how: signal.Signals) -> None:
    """End the process that reads, from outside, as the system or a fault in a library does."""
    children = Path(f"/proc/{server.process.pid}/task").glob("*/children")
    (reader,) = {int(number) for one in children for number in one.read_text().split()}
    os.kill(reader, how)


@pytest.mark.parametrize(("how", "says"), [(signal.SIGSEGV, "SIGSEGV"), (signal.SIGKILL, "memory was full")])
def test_a_crash_in_one_fitting_leaves_the_page_alive(browser, tmp_path, how, says):
    """It dies in the middle of a check: a sentence, photos and words are still there, and a second press gives the answer."""
    with opened(tmp_path) as server:
        page = window(browser, server)
        drop_photos(page, "control", ["front", "right"])
        page.get_by_label("Garment", exact=True).fill("blouse")
        page.get_by_role("button", name="Check the fit").click()
        expect(page.locator("#stage")).to_be_visible()
        kill_reader(server, how)
        alert = page.get_by_role("alert").first
        expect(alert).to_contain_text(says, timeout=CHECKED_MS)
        expect(alert).to_contain_text("your other fittings are still here")
        expect(page.locator("#list img")).to_have_count(2)
        expect(page.get_by_label("Garment", exact=True)).to_have_value("blouse")
        check(page)
        page.goto(page.url + "/right?view=front")
        worked_out(page)
        kill_reader(server, how)  # while it waits: nobody notices
        page.locator("#larger").focus()
        page.get_by_role("button", name="Bust point, your left", exact=True).focus()
        for key in ("Shift+ArrowDown", "Enter"):
            page.keyboard.press(key)
        expect(page.locator("#back")).to_be_enabled(timeout=CHECKED_MS)
        page.context.close()
    assert not server.unrecorded
    assert not list((tmp_path / "tmp").iterdir())


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


def test_a_kept_photo_that_ends_the_decoder_leaves_the_page_alive(browser, tmp_path, monkeypatch):
    """Page and readers have a decoder that such a photo ends as a fault in a library does; it is met on home, on its own page, compared."""
    (tmp_path / "path").mkdir()
    (tmp_path / "path" / "sitecustomize.py").write_text(DECODER)
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path / 'path'}{os.pathsep}{os.environ.get('PYTHONPATH', '')}")
    with opened(tmp_path / "home") as server:
        with Diary(server.data / "diary", create=True) as diary:
            for number in (1, 2):
                record(diary, new_fitting(fit_check(number), day=date(2026, 4, number)))
        (spoilt,) = (server.data / "diary" / "photos" / uid_of(server.data / "diary", 2)).glob("front.jpg")
        spoilt.write_bytes(spoilt.read_bytes() + DEADLY)
        page = window(browser, server)
        for address, shown in (("/", 1), ("/diary/2", 1), ("/compare/1/2", 3)):
            page.goto(server.base + address)
            expect(page.get_by_role("heading", level=1)).to_be_visible()
            assert sum(page.evaluate("Promise.all([...document.images].map(one => one.decode().then(() => 1, () => 0)))")) == shown
        assert server.process.poll() is None
        page.context.close()


def uid_of(folder: Path, number: int) -> str:
    with Diary(folder) as diary:
        ((uid,),) = diary.checked("fitting", "uid", "WHERE id = ?", [number])
    return uid
