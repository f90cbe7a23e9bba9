"""The computer's camera before true motion: python -m tests.benchmarks.camera FOLDER [...]

Every FOLDER holds the rendered moments of a film (`tests/scenes/film_frames.py`). She stands in each view for a while, swaying and
breathing, and turns by herself in between; a browser's make-believe camera shows that again and again. Nobody touches anything: prints
when each view was taken, how many looks a second there were, and what was asked for meanwhile; then what is said of the views, and, as the
button is pressed, how long the answer took and what it is.
"""

import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from playwright.sync_api import Error, Playwright, sync_playwright
from web.before_camera import Picture
from web.opened import CHROMIUM, Opened, opened

from tests.scenes.film import Rendered
from tests.scenes.spec import Spec

RATE = 4  # pictures a second
STANDS_S = 14.0  # in each view; a count takes four, on a busy machine the looks before it some more
GIVE_UP_S, ANSWER_S = 420.0, 120.0
NOT_LOOKING_S = 2.0  # without a look: something is being said, or a picture looked at in full
SEEN = """() => [document.getElementById("wanted").textContent, document.querySelectorAll("[data-view].over").length,
    document.getElementById("camera").dataset.looks]"""


def main(arguments: list[str]) -> None:
    with tempfile.TemporaryDirectory() as home, opened(Path(home) / "home") as server, sync_playwright() as player:
        for word in arguments:
            film = Path(home) / "film.y4m"
            _write(film, Path(word))
            _before(player, film, server, Path(word).name)


def _write(path: Path, folder: Path) -> None:
    rendered = Rendered(folder, Spec.model_validate_json((folder / "spec.json").read_text()))
    with open(path, "wb") as file:
        for k, time_s in enumerate(_moments(rendered)):
            picture: Picture = rendered.picture(time_s)
            if k == 0:
                file.write(f"YUV4MPEG2 W{picture.shape[1]} H{picture.shape[0]} F{RATE}:1 Ip A1:1 C420jpeg\n".encode())
            file.write(b"FRAME\n" + cv2.cvtColor(picture, cv2.COLOR_BGR2YUV_I420).tobytes())


def _moments(rendered: Rendered) -> Iterator[float]:
    """Of the film, in which each stand is gone through to and fro: so she stands for longer, and never leaps."""
    at = 0.0
    for stand in rendered.motion.stands:
        yield from np.arange(at, stand.start_s, 1 / RATE)
        lasts = stand.end_s - stand.start_s
        ways = 2 * round((STANDS_S / lasts - 1) / 2) + 1  # an odd number ends at the end
        along = np.arange(0, ways * lasts, 1 / RATE)
        yield from stand.start_s + lasts - abs(lasts - along % (2 * lasts))
        at = stand.end_s
    yield from np.arange(at, rendered.motion.ends_s, 1 / RATE)


def _before(player: Playwright, film: Path, server: Opened, name: str) -> None:
    fake = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", f"--use-file-for-fake-video-capture={film}"]
    browser = player.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage", *fake])
    page = browser.new_page()
    page.goto(server.start)
    page.locator("nav").get_by_role("button", name="New fitting").click()
    page.wait_for_url("**/fitting/*")
    page.get_by_role("link", name="Use this computer’s camera").click()
    page.get_by_role("button", name="Switch the camera on").click()
    began, said, over, looks, last, looking_s = time.monotonic(), [""], 0, 0, 0.0, 0.0
    while page.url.endswith("/camera") and (spent := time.monotonic() - began) < GIVE_UP_S:
        page.wait_for_timeout(100)
        try:
            seen = page.evaluate(SEEN)
        except Error:  # it has gone on to the fitting
            page.wait_for_url(lambda address: not address.endswith("/camera"))
            break
        if seen[0] and seen[0] != said[-1]:
            said.append(seen[0])
            print(f"{name} {spent:6.1f} s: {seen[0]}", flush=True)
        if seen[1] != over:
            over = seen[1]
            print(f"{name} {spent:6.1f} s: {over} of 4 taken", flush=True)
        if int(seen[2] or 0) > looks:
            looks, last, looking_s = int(seen[2]), spent, looking_s + (spent - last if spent - last < NOT_LOOKING_S else 0.0)
    print(
        f"{name}: {over} of 4 taken, {looks / looking_s:.1f} looks a second while it looks, ends at {page.url.rpartition('/')[2]}",
        flush=True,
    )
    page.get_by_text("All four views are here.").wait_for()
    print(f"{name}: said of the views: {page.locator('#list .doubts:visible').all_inner_texts() or 'nothing'}", flush=True)
    began = time.monotonic()
    page.get_by_role("button", name="Check the fit").click()
    page.locator(".lead").wait_for(timeout=1000 * ANSWER_S)
    print(f"{name}: answered in {time.monotonic() - began:.1f} s: {page.locator('.lead').inner_text()!r}")
    browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
