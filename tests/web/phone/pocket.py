"""A phone of the tests' own: seals, cuts and asks as the protocol says, without the page's script."""

import http.client
import json
import socket
import time
from base64 import urlsafe_b64decode
from concurrent.futures import Future
from pathlib import Path
from urllib.parse import urlsplit

from nacl.secret import SecretBox
from nacl.utils import random

from fitcheck.web.case import Look
from fitcheck.web.work import Work

JPEG = b"\xff\xd8\xff\xe0" + bytes(range(256)) * 4000  # a megabyte: three pieces
MP4 = b"\0\0\0\x18ftypmp42" + b"\0" * 4000
VIEWS = ("front", "right", "back", "left")
LOOP = ("127.0.0.1",)


class Pocket:
    """What a phone knows once its camera has read the code."""

    def __init__(self, link: str) -> None:
        parts = urlsplit(link)
        self.host, self.port = parts.hostname, parts.port
        self.box = SecretBox(urlsafe_b64decode(parts.fragment + "="))

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> http.client.HTTPResponse:
        """One plain request."""
        line = http.client.HTTPConnection(self.host, self.port, timeout=60)
        line.request(method, path, body, headers)
        answer = line.getresponse()
        answer.data = answer.read()
        line.close()
        return answer

    def sealed(self, piece: bytes = b"", **words: object) -> bytes:
        head = json.dumps(words).encode()
        return bytes(self.box.encrypt(len(head).to_bytes(2, "big") + head + piece, random(24)))

    def heard(self, message: bytes) -> dict[str, object]:
        """The answer to a sealed message."""
        answer = self.ask("POST", "/say", message)
        assert answer.status == 200, answer.data
        plain = self.box.decrypt(answer.data)
        words = json.loads(plain[2 : 2 + int.from_bytes(plain[:2], "big")])
        assert words.pop("answers") == message[:24].hex()
        return words

    def say(self, piece: bytes = b"", **words: object) -> dict[str, object]:
        return self.heard(self.sealed(piece, **words))

    def send(self, data: bytes, file: str, cut: int = 400_000) -> dict[str, object]:
        """A whole file; the last answer."""
        answer = self.say(asks="have", file=file)
        while "have" in answer:
            at = answer["have"]
            answer = self.say(data[at : at + cut], asks="piece", file=file, at=at, size=len(data))
        return answer


class Table:
    """Stands for the bench: looks at photos without reading them."""

    def __init__(self) -> None:
        self.films: list[Path] = []
        self.looks = [Look((3, 4), view, "", b"") for view in VIEWS]

    def ask(self, task, path: Path) -> "Future[Look]":
        asked: Future[Look] = Future()
        look = self.looks.pop(0)
        if isinstance(look, Exception):
            asked.set_exception(look)
        else:
            asked.set_result(look)
        return asked

    def film(self, work: Work, path: Path) -> None:
        self.films.append(path)
        work.state = "waiting"


def name(n: int) -> str:
    return f"{n:032x}"


def is_shut(phone: Pocket, within_s: float = 5.0) -> bool:
    """Whether nobody listens there, or soon nobody will."""
    ends = time.monotonic() + within_s
    while time.monotonic() < ends:
        try:
            socket.create_connection((phone.host, phone.port), timeout=5).close()
        except ConnectionRefusedError:
            return True
        time.sleep(0.02)
    return False
