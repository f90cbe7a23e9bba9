"""Who is let in: asked over plain sockets, as another program on this computer or another site's page would."""

import http.client
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from web.opened import Opened, opened


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    with opened(tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture(scope="module")
def cookie(server) -> str:
    """What the start token is changed for."""
    answer = ask(server, "GET", server.start.removeprefix(server.base))
    assert answer.status == 200
    return answer.headers["set-cookie"]


def ask(server: Opened, method: str, path: str, body: bytes = b"", **headers: str) -> http.client.HTTPResponse:
    """One request; headers with underscores for hyphens."""
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=90)
    line.request(method, path, body, {name.replace("_", "-"): value for name, value in headers.items()})
    answer = line.getresponse()
    answer.text = answer.read().decode("utf-8", "replace")
    line.close()
    return answer


def ours(server: Opened, cookie: str) -> dict[str, str]:
    return {"Cookie": cookie.split(";")[0], "Origin": server.base, "Sec_Fetch_Site": "same-origin"}


def test_the_cookie_cannot_be_read_or_carried_elsewhere(cookie):
    for word in ("HttpOnly", "SameSite=strict", "Path=/"):
        assert word in cookie


def test_the_start_token_works_once(server, cookie):
    assert ask(server, "GET", server.start.removeprefix(server.base)).status == 403
    again = ask(server, "GET", server.start.removeprefix(server.base), **ours(server, cookie))
    assert again.status == 200  # her own window, gone back


@pytest.mark.parametrize("path", ["/", "/settings", "/static/page.css", "/alive", "/fitting/x", "/words.json"])
def test_nothing_without_the_cookie(server, cookie, path):
    assert ask(server, "GET", path).status == 403
    assert ask(server, "GET", path, Cookie=f"fitcheck_{server.port}=wrong").status == 403
    assert ask(server, "GET", path, **(ours(server, cookie) | {"Cookie": cookie.split(";")[0] + "x"})).status == 403


@pytest.mark.parametrize("path", ["/begin", "/begin?token=", "/begin?token=wrong", "/begin?token=%ff%00"])
def test_a_wrong_token(server, cookie, path):
    assert ask(server, "GET", path).status == 403


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "[::1]:80", ""])
def test_another_name_for_the_address(server, cookie, host):
    """A name server that answers with 127.0.0.1 makes a browser send its own name."""
    assert ask(server, "GET", "/", **(ours(server, cookie) | {"Host": host})).status == 421


@pytest.mark.parametrize(
    "change", [{"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"}, {"Origin": "http://evil.example"}, {"Origin": "null"}]
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_another_sites_page(server, cookie, change, method):
    assert ask(server, method, "/settings", b"units=in", **(ours(server, cookie) | change)).status == 403


def test_a_change_needs_our_own_page(server, cookie):
    headers = ours(server, cookie)
    del headers["Origin"]
    assert ask(server, "POST", "/settings", b"units=in", **headers).status == 403
    assert ask(server, "POST", "/stop", **headers).status == 403
    assert ask(server, "GET", "/alive", **headers).status == 200


def test_headers_of_every_answer(server, cookie):
    for path in ("/", "/static/page.css", "/nothing", "/words.json"):
        headers = ask(server, "GET", path, **ours(server, cookie)).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self';" in policy
        assert "unsafe-inline" not in policy.replace("style-src-attr 'unsafe-inline'", "")
        assert headers["cache-control"] == "no-store"
        assert headers["x-content-type-options"] == "nosniff"
        assert "server" not in headers


def test_no_page_carries_a_script_of_its_own(server, cookie):
    for path in ("/", "/settings", "/words", "/set-up"):
        text = ask(server, "GET", path, **ours(server, cookie)).text
        assert text.count("<script") == text.count('<script type="module" src="/static/')
        assert "http" not in text.replace(server.base, "")
        assert " on" + "click" not in text


@pytest.mark.parametrize(
    "path",
    [
        "/static/../security.py",
        "/static/..%2fsecurity.py",
        "/static/%2e%2e/%2e%2e/pyproject.toml",
        "/static/page.css%00",
        "/static//etc/passwd",
        "/fitting/..%2f..%2fx",
        "/fitting/x/photos/..%2f..%2fin_use.jpg",
        "/diary/1/..%2f..%2fdiary.sqlite.jpg",
        "/diary/99999999999999999999999",
        "/diary/0",
        "/wearer/7/profile",
        "/wearer/7/export.zip",
        "/compare/1/2",
        "/words/%2e%2e",
        "/print/card-..%2fx.pdf/..",
    ],
)
def test_no_path_reaches_the_disk(server, cookie, path):
    answer = ask(server, "GET", path, **ours(server, cookie))
    assert 400 <= answer.status < 500
    for word in ("Traceback", "/usr", "/tmp", str(server.home), "root:"):
        assert word not in answer.text


def test_a_form_that_is_too_large(server, cookie):
    assert ask(server, "POST", "/settings", b"units=" + b"x" * 1_100_000, **ours(server, cookie)).status == 413


def test_a_body_that_says_it_is_smaller_or_endless(server, cookie):
    head = f"POST /settings HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nOrigin: {server.base}\r\nCookie: {cookie.split(';')[0]}\r\n"
    with socket.create_connection(("127.0.0.1", server.port), timeout=90) as line:
        line.sendall((head + "Transfer-Encoding: chunked\r\n\r\n").encode())
        piece = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
        try:
            for _ in range(40):
                line.sendall(piece)
        except OSError:
            pass  # it hung up
        assert b" 413 " in line.recv(400)


def test_no_other_kind_of_connection(server, cookie):
    headers = ours(server, cookie) | {
        "Upgrade": "websocket",
        "Connection": "Upgrade",
        "Sec_WebSocket_Key": "x" * 24,
        "Sec_WebSocket_Version": "13",
    }
    assert ask(server, "GET", "/alive", **headers).status == 200  # read as an ordinary question


def test_it_listens_on_this_computers_own_address_only(server):
    """By the system's own list: once, at 127.0.0.1 (its bytes run backwards there), and not in IPv6."""
    assert _listening("/proc/net/tcp", server.port) == ["0100007F"]
    assert _listening("/proc/net/tcp6", server.port) == []


def _listening(table: str, port: int) -> list[str]:
    rows = [line.split() for line in Path(table).read_text().splitlines()[1:]]
    places = [row[1].split(":") for row in rows if row[3] == "0A"]
    return [address for address, at in places if int(at, 16) == port]


def test_a_port_that_is_taken(server):
    done = subprocess.run(
        [sys.executable, "-m", "fitcheck", "open", "--no-browser", "--port", str(server.port)], capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 2
    assert f"Port {server.port} cannot be used" in done.stderr


def test_closed_by_its_own_button(tmp_path):
    running = Opened(tmp_path)
    own = ask(running, "GET", running.start.removeprefix(running.base)).headers["set-cookie"]
    answer = ask(running, "POST", "/stop", **ours(running, own))
    assert "fitcheck is closed" in answer.text
    assert running.process.wait(90) == 0
