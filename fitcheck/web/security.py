"""Who may talk to the page, and what the page may do: everything about that stands here.

The server listens on this computer's own loopback address only. Other programs' pages in the same browser, other users of the computer
and other names for the address (a name server that answers with 127.0.0.1) are kept out by

- a start token, good for one visit, which is changed for a cookie that scripts cannot read and other sites' requests do not carry;
- the Host header, which has to be our own address;
- Sec-Fetch-Site and, for whatever changes something, Origin, which have to be our own page.

The page itself may load nothing from outside and run no script but its own files.

A phone never comes here: what is asked for to let one in (`phone/listener.py`) has an address, a guard and pages of its own.
"""

import hmac
import secrets
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fitcheck.web.uploads import FILM_BYTES, PHOTO_BYTES

HOST = "127.0.0.1"
BEGIN = "/begin"  # where the start token is taken
FORM_BYTES = 1_000_000  # a form with all its fields has a few thousand
ARCHIVE_BYTES = 4_000_000_000  # a wearer with some hundred fittings
GLANCE_BYTES = 3_000_000  # a small picture out of the camera has a tenth
LARGER = {"photo": PHOTO_BYTES, "film": FILM_BYTES, "archive": ARCHIVE_BYTES, "live": GLANCE_BYTES}  # by the last part of the address
READS = ("GET", "HEAD")

HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; style-src-attr 'unsafe-inline'; "
    "img-src 'self' data: blob:; media-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with none at all a form would not say its origin either
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
MOVED_ON = (  # a page that moves on, no redirect: the visit may come from another program's page, the next one comes from ours
    '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>fitcheck</title><link rel="icon" href="data:,">'
    '<meta http-equiv="refresh" content="0;url=/"></head><body><p><a href="/">To fitcheck</a></p></body></html>'
)


class Guard:
    """Stands before the whole application and lets only its own page through.

    Parameters
    ----------
    app : ASGI application
    port : int
        That the server listens on.
    token : str
        Taken once at `/begin?token=...`.
    """

    def __init__(self, app: ASGIApp, port: int, token: str) -> None:
        self._app = app
        self._hosts = {f"{HOST}:{port}", f"localhost:{port}"}
        self._token = token
        self._key = secrets.token_urlsafe(32)
        self._cookie = f"fitcheck_{port}"  # browsers share cookies between the ports of one host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return  # no other kind is spoken; the server closes it
        headers = Headers(scope=scope)
        answer = self._refusal(scope, headers)
        if answer is None and scope["path"] == BEGIN:
            answer = self._begin(scope, headers)
        elif answer is None and not self._known(headers):
            answer = _refused(
                403, "This address belongs to one window only. Go to the window that fitcheck opened, or close fitcheck and open it again."
            )
        if answer is not None:
            await answer(scope, receive, _with_headers(send))
            return
        await self._app(scope, _limited(scope, headers, receive), _with_headers(send))

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        host, origin, site = headers.get("host", ""), headers.get("origin"), headers.get("sec-fetch-site", "none")
        if host not in self._hosts:
            return _refused(421, "This is not the address that fitcheck is at.")
        reads = scope["method"] in READS
        if scope["path"] == BEGIN and scope["method"] == "GET":
            return None  # whoever starts the browser may have opened it from anywhere; the token decides
        if site not in ("same-origin", "none"):
            return _refused(403, "Another site's page asked for this.")
        if origin is not None and origin != f"http://{host}":
            return _refused(403, "Another site's page asked for this.")
        if not reads and origin is None:
            return _refused(403, "This was asked for by no page of fitcheck.")
        return None

    def _begin(self, scope: Scope, headers: Headers) -> Response:
        if not self._known(headers):
            given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
            if not self._token or not hmac.compare_digest(given.encode(), self._token.encode()):
                return _refused(403, "This start address has been used already. Close fitcheck and open it again for a new one.")
            self._token = ""
        answer = HTMLResponse(MOVED_ON)
        answer.set_cookie(self._cookie, self._key, httponly=True, samesite="strict", path="/")
        return answer

    def _known(self, headers: Headers) -> bool:
        try:
            held = SimpleCookie(headers.get("cookie", "")).get(self._cookie)
        except CookieError:
            return False
        return held is not None and hmac.compare_digest(held.value.encode(), self._key.encode())


def _limited(scope: Scope, headers: Headers, receive: Receive) -> Receive:
    """The request's body, and no more of it than its address may take."""
    most = LARGER.get(scope["path"].rsplit("/", 1)[-1], FORM_BYTES)
    said = headers.get("content-length", "0")
    got = 0

    async def limited() -> Message:
        nonlocal got
        if not said.isdecimal() or int(said) > most:
            raise HTTPException(413, f"This is larger than the {most // 1_000_000} MB that are taken here.")
        message = await receive()
        got += len(message.get("body", b""))
        if got > most:
            raise HTTPException(413, f"This is larger than the {most // 1_000_000} MB that are taken here.")
        return message

    return limited


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sent


def _refused(code: int, why: str) -> Response:
    return PlainTextResponse(why, code)
