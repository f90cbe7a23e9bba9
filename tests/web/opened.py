"""`fitcheck open` as a process of its own, and a browser window on it."""

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

SAMPLES = Path(__file__).parents[2] / "sample_images"
CHECKED_MS = 90_000  # a check takes some seconds, on a busy machine many more
CHROMIUM = shutil.which("chromium") or ""


class Opened:
    """A running `fitcheck open` whose user is at home in a folder of the test's own."""

    def __init__(self, home: Path, *options: str, before: Sequence[str] = ()) -> None:
        home.mkdir(exist_ok=True)
        env = {name: value for name, value in os.environ.items() if not name.startswith(("XDG_", "FITCHECK_"))}
        env |= {"HOME": str(home), "PYTHONDONTWRITEBYTECODE": "1", "PYTHONUNBUFFERED": "1", "TMPDIR": str(home / "tmp")}
        (home / "tmp").mkdir(exist_ok=True)
        self.home = home
        command = [*before, sys.executable, "-m", "fitcheck", "open", "--no-browser", *options]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env)
        assert self.process.stdout
        said = ""
        for line in self.process.stdout:
            said += line
            if line.startswith("http://"):
                self.start = line.strip()
            if "Ctrl+C" in line:
                break
        assert "http://" in said, said
        self.base = re.match(r"http://127\.0\.0\.1:\d+", self.start)[0]

    @property
    def port(self) -> int:
        return int(self.base.rsplit(":", 1)[1])

    @property
    def data(self) -> Path:
        return self.home / ".local/share/fitcheck"

    @property
    def unrecorded(self) -> list[Path]:
        """Every file of fittings that are not recorded."""
        return [path for path in (self.data / "unrecorded").rglob("*") if path.is_file() and path.name not in ("starting", "in_use")]

    def stop(self, how: signal.Signals = signal.SIGTERM) -> str:
        """End it; what it still said."""
        if self.process.poll() is None:
            self.process.send_signal(how)
        return self.process.communicate(timeout=CHECKED_MS / 1000)[0]


@contextmanager
def opened(home: Path, *options: str) -> Iterator[Opened]:
    server = Opened(home, *options)
    try:
        yield server
    finally:
        server.stop()


def window(browser: Browser, server: Opened, **options: object) -> Page:
    """A window that has begun, at home."""
    page = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **options}).new_page()
    page.goto(server.start)
    page.wait_for_url(server.base + "/")
    return page


def drop_photos(page: Page, fitting: str, views: Sequence[str], told: str = "") -> None:
    """A new fitting with photos of a sample, chosen all at once; waits until each was looked at."""
    page.locator("main").get_by_role("button", name="New fitting", exact=True).click()
    page.wait_for_url("**/fitting/*")
    page.set_input_files("#files", [SAMPLES / fitting / f"{view}.jpg" for view in views])
    expect(page.locator("#list img")).to_have_count(len(views), timeout=CHECKED_MS)
    if told:
        expect(page.locator("#told")).to_contain_text(told)


def check(page: Page) -> None:
    """Have it checked, and wait for the answer."""
    page.get_by_role("button", name="Check the fit").click()
    expect(page.locator(".lead")).to_be_visible(timeout=CHECKED_MS)


def worked_out(page: Page) -> None:
    """Wait for the exact answer to a correction."""
    expect(page.locator("#state")).to_have_text("", timeout=CHECKED_MS)
