"""Who is let in, and to what: asked over plain sockets, as another machine or another site's page would."""

import http.client
import time
from contextlib import suppress

from web.phone.pocket import JPEG, Pocket, is_shut, name

from fitcheck.web.phone.listener import MOST_BYTES


def test_a_wrong_key_is_refused(phone, door, work):
    key = door.link(work).rpartition("#")[2]
    other = Pocket(door.link(work).replace(key, "A" * 43))
    answer = other.ask("POST", "/say", other.sealed(JPEG[:100], asks="piece", file=name(1), at=0, size=100))
    assert answer.status == 403
    assert b"key" in answer.data
    assert not list(work.folder.iterdir())
    assert not door.state(work)["seen"]


def test_the_key_of_an_earlier_code_is_refused(phone, door, work):
    door.open(work)
    later = Pocket(door.link(work))
    assert later.box._key != phone.box._key
    assert later.ask("POST", "/say", phone.sealed(asks="have", file=name(1))).status == 403
    assert is_shut(phone)


def test_changed_on_its_way(phone):
    message = bytearray(phone.sealed(JPEG[:100], asks="piece", file=name(1), at=0, size=100))
    message[60] ^= 1
    assert phone.ask("POST", "/say", bytes(message)).status == 403


def test_a_piece_beyond_what_is_taken(phone, work):
    message = phone.sealed(bytes(MOST_BYTES), asks="piece", file=name(1), at=0, size=2 * MOST_BYTES)
    with suppress(BrokenPipeError, ConnectionResetError):  # it may hang up before all of it was sent
        assert phone.ask("POST", "/say", message).status == 413
    assert not list(work.folder.iterdir())


def test_it_takes_uploads_only(phone):
    """Three files of its page and its one address; nothing of the computer's own page."""
    for path in ("/", "/phone.js", "/phone.css", "/nacl-fast.min.js"):
        assert phone.ask("GET", path).status == 200
    for path in ("/fittings", "/fitting/w", "/static/page.css", "/begin", "/settings", "/alive", "/../listener.py", "/LICENSE", "/say"):
        assert phone.ask("GET", path).status in (404, 405)
    for method in ("PUT", "DELETE", "OPTIONS"):
        assert phone.ask(method, "/say").status == 405


def test_no_other_name_and_no_other_sites_page(phone):
    own = f"{phone.host}:{phone.port}"
    assert phone.ask("GET", "/", Host="evil.example").status == 421
    assert phone.ask("POST", "/say", phone.sealed(asks="have", file=name(1)), Origin="http://evil.example").status == 403
    assert phone.ask("POST", "/say", phone.sealed(asks="have", file=name(1)), Origin=f"http://{own}").status == 200


def test_headers_of_every_answer(phone):
    for method, path in (("GET", "/"), ("GET", "/phone.js"), ("GET", "/nothing"), ("POST", "/say")):
        headers = phone.ask(method, path).headers
        assert "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'" in headers["content-security-policy"]
        assert headers["cache-control"] == "no-store"
        assert headers["referrer-policy"] == "no-referrer"
        assert "server" not in headers


def test_the_page_says_nothing_of_her_and_loads_nothing_else(phone):
    page = phone.ask("GET", "/").data.decode()
    assert "http" not in page
    assert page.count("<script") == page.count('<script src="/nacl') + page.count('<script type="module" src="/phone.js"') == 2


def test_many_at_once_do_not_stop_it(phone):
    """Idle connections are kept few, and it goes on when they are gone."""
    lines = [http.client.HTTPConnection(phone.host, phone.port, timeout=20) for _ in range(40)]
    for line in lines:
        line.connect()
    assert phone.ask("GET", "/").status in (200, 503)
    for line in lines:
        line.close()
    time.sleep(0.3)
    assert phone.ask("GET", "/").status == 200
