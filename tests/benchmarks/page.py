"""How quickly the page answers to a correction, against a whole warm check; and how soon its pages appear.

    python -m tests.benchmarks.page [FITTING ...]

Times on the clock mean little on a machine that is busy with other things, so the program's own processor time stands beside them.

First of all how soon something of each page is painted in a browser (first contentful paint), from loading it anew; 0.5 s is the aim.

Each correction is asked for over the page's own connection, as the browser does: a trial of three solves (what the numbers follow by
while something is dragged), and the exact answer after it is let go. Points and lines of every photo are moved by 1 to 12 pixels, one
at a time.
"""

import http.client
import json
import os
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))
from playwright.sync_api import sync_playwright
from web.opened import CHROMIUM, SAMPLES, Opened

MOVES = 40
PAINTS = 7  # of each page
PAGES = {
    "home": "/",
    "set-up": "/set-up",
    "settings": "/settings",
    "words": "/words",
    "a word": "/words/forward_shoulder",
    "rules": "/rules",
}
WARM_CHECKS = 3


class Line:
    """A connection to the running page."""

    def __init__(self, server: Opened) -> None:
        self.http = http.client.HTTPConnection("127.0.0.1", server.port, timeout=600)
        self.headers = {"Origin": server.base}
        answer = self.ask("GET", server.start.removeprefix(server.base))[1]
        self.headers["Cookie"] = answer["set-cookie"].split(";")[0]

    def ask(self, method: str, path: str, body: bytes | str = b"") -> tuple[int, dict[str, str], bytes]:
        self.http.request(method, path, body, self.headers)
        answer = self.http.getresponse()
        return answer.status, dict(answer.headers), answer.read()

    def data(self, path: str, body: object) -> Any:
        status, _, said = self.ask("POST", path, json.dumps(body))
        assert status == 200, said
        return json.loads(said)


class Clock:
    """Times of something that the program is asked for: on the clock, and of its own processor."""

    def __init__(self, server: Opened) -> None:
        self.program = server.process.pid
        self.times: list[tuple[float, float]] = []

    def now(self) -> tuple[float, float]:
        """Now, and the processor time of the program and its reader together."""
        children = Path(f"/proc/{self.program}/task").glob("*/children")
        both = [str(self.program), *(number for one in children for number in one.read_text().split())]
        fields = [Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split() for number in both]
        return time.perf_counter(), sum(int(one[11]) + int(one[12]) for one in fields) / os.sysconf("SC_CLK_TCK")

    def __enter__(self) -> None:
        self.begun = self.now()

    def __exit__(self, *_: object) -> None:
        ended = self.now()
        self.times.append((ended[0] - self.begun[0], ended[1] - self.begun[1]))


def checked(line: Line, folder: Path, clock: Clock) -> str:
    """A fitting's address; timed is its whole warm check, from pressing the button until the answer can be shown."""
    fitting = line.ask("POST", "/fittings")[1]["location"]
    for path in sorted(folder.glob("*.jpg")):
        line.ask("POST", f"{fitting}/photo?named={path.stem}", path.read_bytes())
    with clock:
        line.ask("POST", f"{fitting}/check", "")
        while b'"done"' not in line.ask("GET", f"{fitting}/events")[2]:
            pass
    return str(fitting)


def moves(marks: dict[str, Any], seed: int) -> list[dict[str, Any]]:
    """Corrections, each of one thing."""
    chance = random.Random(seed)
    found = []
    for photo in marks["photos"]:
        for point in photo["points"]:
            named = {key: value for key, value in (("name", point["name"]), ("side", point["side"]), ("view", photo["view"])) if value}
            x, y = (v + chance.uniform(-12, 12) for v in point["xy"])
            found.append({"point": [{**named, "xy": [max(x, 0), max(y, 0)]}], "seam": []})
        for seam in photo["seams"]:
            named = {key: value for key, value in (("name", seam["name"]), ("side", seam["side"]), ("view", photo["view"])) if value}
            by = chance.uniform(1, 12)
            found.append({"point": [], "seam": [{**named, "points": [[x + by, y] for x, y in seam["points"]]}]})
    return chance.sample(found, min(MOVES, len(found)))


def painted(server: Opened, line: Line, pages: dict[str, str]) -> None:
    """One row a page: when its first content was painted."""
    name, _, key = line.headers["Cookie"].partition("=")
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-dev-shm-usage"])
        context = browser.new_context()
        context.add_cookies([{"name": name, "value": key, "url": server.base}])
        page = context.new_page()
        for title, address in pages.items():
            times = []
            for _ in range(PAINTS):
                page.goto(server.base + address)
                while not (found := page.evaluate("performance.getEntriesByName('first-contentful-paint').map(one => one.startTime)")):
                    page.wait_for_timeout(20)
                times.append(found[0] / 1000)
            middle = statistics.median(times)
            print(f"first paint of {title:12} n {PAINTS}  the first {times[0]:5.2f} s  median {middle:5.2f} s  most {max(times):5.2f} s")
        browser.close()


def told(name: str, clock: Clock, whole: tuple[float, float]) -> None:
    """One row: median and 95th percentile, in seconds and as a share of a whole warm check, on the clock and by the processor."""
    for kind, times, all_of_it in zip(("clock", "processor"), zip(*clock.times, strict=True), whole, strict=True):
        low, high = statistics.median(times), sorted(times)[int(0.95 * (len(times) - 1))]
        share, most = low / all_of_it, high / all_of_it
        print(f"{name:30} {kind:10} n {len(times):3}  median {low:5.2f} s ({share:.3f})  95 % {high:5.2f} s ({most:.3f})")


def main() -> None:
    folders = [Path(one) for one in sys.argv[1:]] or [SAMPLES / "forward_shoulder", SAMPLES / "control"]
    with tempfile.TemporaryDirectory() as home:
        server = Opened(Path(home))
        try:
            line = Line(server)
            fitting = checked(line, folders[0], Clock(server))  # loads what measures
            painted(server, line, PAGES | {"an answer": fitting, "put right": f"{fitting}/right"})
            line.http.close()  # the page has let go of a line that was silent for so long; it is opened anew
            for folder in folders:
                checks, trials, exact, shown = (Clock(server) for _ in range(4))
                fitting = [checked(line, folder, checks) for _ in range(WARM_CHECKS)][-1]
                whole = tuple(statistics.median(times) for times in zip(*checks.times, strict=True))
                marks = json.loads(line.ask("GET", f"{fitting}/marks.json")[2])
                for placed in moves(marks, 1):
                    with trials:
                        line.data(f"{fitting}/trial", [placed] * 3)
                    with exact:
                        line.data(f"{fitting}/placed", placed)
                for _ in range(5):
                    with shown:
                        line.ask("GET", fitting)
                print(f"{folder.name}: a whole warm check {whole[0]:.2f} s on the clock, {whole[1]:.2f} s of the processor")
                told("three trial solves", trials, (whole[0], whole[1]))
                told("exact answer after letting go", exact, (whole[0], whole[1]))
                told("the page of the answer", shown, (whole[0], whole[1]))
        finally:
            server.stop()


if __name__ == "__main__":
    main()
