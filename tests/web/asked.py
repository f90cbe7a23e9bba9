"""The page's application asked in this process, without a server, a guard or a browser: what a page answers to one request."""

import asyncio
import json
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.applications import Starlette

from fitcheck.core.errors import FitcheckError
from fitcheck.core.fitting import FittingFacts
from fitcheck.web.app import build
from fitcheck.web.bench import Bench
from fitcheck.web.case import Case, Look
from fitcheck.web.choices import Choices
from fitcheck.web.desk import Desk
from fitcheck.web.house import House
from fitcheck.web.phone.door import Door
from fitcheck.web.place import Place
from fitcheck.web.work import Held, Work

Form = dict[str, str]


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: Form
    body: bytes

    @property
    def text(self) -> str:
        """With spaces that keep numbers and units together told as plain ones."""
        return self.body.decode("utf-8").replace("\u00a0", " ")

    @property
    def data(self) -> Any:
        return json.loads(self.body)


class Asked:
    """One running page whose private folder, diary and choices lie below a folder of the test's own."""

    def __init__(self, bench: Bench, below: Path) -> None:
        self.stopped: list[bool] = []
        self.house = House(bench, Door(bench), below / "diary", below / "page.toml", lambda: self.stopped.append(True))
        self.app: Starlette = build(self.house)

    def get(self, address: str, accept: str = "text/html") -> Answer:
        return self._ask("GET", address, b"", accept)

    def post(self, address: str, body: Form | bytes = b"", accept: str = "text/html") -> Answer:
        return self._ask("POST", address, urlencode(body).encode() if isinstance(body, dict) else body, accept)

    def _ask(self, method: str, address: str, body: bytes, accept: str) -> Answer:
        """In a thread of its own: the browser of other tests has a loop going in this one."""
        with ThreadPoolExecutor(1) as pool:
            return pool.submit(asyncio.run, _answer(self.app, method, address, body, accept)).result()


async def _answer(app: Starlette, method: str, address: str, body: bytes, accept: str) -> Answer:
    path, _, query = address.partition("?")
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": method,
        "path": path,
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "headers": [(b"host", b"127.0.0.1"), (b"accept", accept.encode())],
        "scheme": "http",
        "server": ("127.0.0.1", 80),
        "root_path": "",
    }
    found = Answer(0, {}, b"")
    said = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> dict[str, Any]:
        return said.pop() if said else await asyncio.Event().wait()  # whoever asked stays until all is answered

    async def send(message: dict[str, Any]) -> None:
        if message["type"] == "http.response.start":
            found.status = message["status"]
            found.headers = {name.decode(): value.decode() for name, value in message["headers"]}
        found.body += message.get("body", b"")

    with suppress(ZeroDivisionError):  # a fault of the program's own goes on to the server after it was answered
        await app(scope, receive, send)
    return found


class AtOnce(Bench):
    """A bench whose desk is in this process and answers at once."""

    def __init__(self, place: Place, desk: Desk) -> None:
        super().__init__(place)
        self.desk = desk

    def ask(self, task: Callable[..., Any], /, *given: Any, **named: Any) -> "Future[Any]":
        answer: Future[Any] = Future()
        try:
            answer.set_result(task(self.desk, *given, **named))
        except FitcheckError as error:
            answer.set_exception(error)
        return answer

    def check(self, work: Work, choices: Choices) -> None:
        work.answered(work.in_order(), self.desk.check(work.case(work.in_order(), choices)))


def on_table(asked: Asked, case: Case, **facts: str) -> Work:
    """A checked fitting of the photos of a case."""
    work = asked.house.bench.begin()
    for photo in case.photos:
        work.add(Held(photo.view, photo.path, Look((3, 4), photo.view, "", b"\xff\xd8small"), photo.view))
    work.facts = FittingFacts.model_validate(facts)
    asked.house.bench.check(work, asked.house.choices)
    return work
