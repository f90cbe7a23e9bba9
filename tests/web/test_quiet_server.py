"""The server tells nobody what it is, writes no log, and is busy beyond what it is told."""

import http.client
import logging
import socket
from threading import Thread

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from fitcheck.web.quiet_server import quiet_server


async def hello(request: Request) -> PlainTextResponse:
    return PlainTextResponse(f"hello {request.client.host}")


@pytest.mark.parametrize(("most", "status"), [(None, 200), (1, 503)])
def test_it_answers_without_a_word_about_itself(most, status, caplog):
    caplog.set_level(logging.DEBUG)
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        server = quiet_server(Starlette(routes=[Route("/secret", hello)]), 1, most)
        thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        line = http.client.HTTPConnection(*listening.getsockname(), timeout=20)
        line.request("GET", "/secret", headers={"X-Forwarded-For": "10.9.8.7"})
        answer = line.getresponse()
        said = answer.read()
        server.should_exit = True
        thread.join(10)
    assert answer.status == status
    assert answer.getheader("server") is None
    assert b"10.9.8.7" not in said  # whoever is in between cannot say who asks
    assert "secret" not in caplog.text
