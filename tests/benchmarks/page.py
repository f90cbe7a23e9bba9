"""How quickly the page answers to a correction, against a whole warm check; and how soon its pages appear.

    python -m tests.benchmarks.page [FITTING ...]

Each is asked for over the page's own connection, as the browser does: a trial of three solves (what the numbers follow by while something
is dragged), and the exact answer after it is let go. Points and lines of every photo are moved by 1 to 12 pixels, one at a time.
"""

import http.client
import json
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))
from web.opened import SAMPLES, Opened

MOVES = 40
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


def checked(line: Line, folder: Path) -> tuple[str, float]:
    """A fitting's address, and how long its whole warm check took: from pressing the button until the answer can be shown."""
    fitting = line.ask("POST", "/fittings")[1]["location"]
    for path in sorted(folder.glob("*.jpg")):
        line.ask("POST", f"{fitting}/photo?named={path.stem}", path.read_bytes())
    begun = time.perf_counter()
    line.ask("POST", f"{fitting}/check", "")
    while b'"done"' not in line.ask("GET", f"{fitting}/events")[2]:
        pass
    return fitting, time.perf_counter() - begun


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


def told(name: str, times: list[float], whole: float) -> None:
    """One row: median and 95th percentile, in seconds and as a share of a whole warm check."""
    low, high = statistics.median(times), sorted(times)[int(0.95 * (len(times) - 1))]
    print(f"{name:34} n {len(times):3}   median {low:.2f} s ({low / whole:.3f})   95 % {high:.2f} s ({high / whole:.3f})")


def main() -> None:
    folders = [Path(one) for one in sys.argv[1:]] or [SAMPLES / "forward_shoulder", SAMPLES / "control"]
    with tempfile.TemporaryDirectory() as home:
        server = Opened(Path(home))
        try:
            line = Line(server)
            checked(line, folders[0])  # loads what measures
            for folder in folders:
                checks = [checked(line, folder) for _ in range(WARM_CHECKS)]
                fitting, whole = checks[-1][0], statistics.median(took for _, took in checks)
                marks = json.loads(line.ask("GET", f"{fitting}/marks.json")[2])
                trials, exact, shown = [], [], []
                for placed in moves(marks, 1):
                    for times, path, body in ((trials, "trial", [placed] * 3), (exact, "placed", placed)):
                        begun = time.perf_counter()
                        line.data(f"{fitting}/{path}", body)
                        times.append(time.perf_counter() - begun)
                for _ in range(5):
                    begun = time.perf_counter()
                    line.ask("GET", fitting)
                    shown.append(time.perf_counter() - begun)
                print(f"{folder.name}: a whole warm check {whole:.2f} s")
                told("three trial solves", trials, whole)
                told("exact answer after letting go", exact, whole)
                told("the page of the answer", shown, whole)
        finally:
            server.stop()


if __name__ == "__main__":
    main()
