"""The only thing of fitcheck that listens beyond this computer: for one fitting, while asked for, and for nothing but its photos and film.

It is there when she asks for it on the page, at this computer's address in the home network, and gone when everything has come, when
she says so on the phone or on the computer, or after a quarter of an hour. What it hands out to anybody is one empty page with its script;
everything else is sealed with a key that is only in the code on her screen (`box.py`). Nothing of hers is ever handed out.
"""

import asyncio
import socket
from collections.abc import Awaitable, Callable
from importlib.resources import files
from threading import Thread
from time import monotonic

from starlette.applications import Starlette
from starlette.background import BackgroundTask
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from fitcheck.core.errors import UsageError
from fitcheck.web.phone.box import Box, NotOursError, Said
from fitcheck.web.phone.home_network import is_private
from fitcheck.web.quiet_server import quiet_server

LAST_ANSWER_S = 60.0  # so long a photo that came is still looked at after the end
ENDED_S = 5.0  # in which the thread is gone when the program ends; it holds nothing that must be kept
PIECE_BYTES = 512 * 1024  # as the phone's page cuts files
MOST_BYTES = PIECE_BYTES + 4096  # with its words and the seal
MOST_AT_ONCE = 16  # connections: a browser opens six
PAGES = {"/": "phone.html", "/phone.css": "phone.css", "/phone.js": "phone.js", "/nacl-fast.min.js": "nacl-fast.min.js"}
KINDS = {"html": "text/html", "css": "text/css", "js": "text/javascript"}
HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
Hear = Callable[[Said], Awaitable[tuple[dict[str, object], bool]]]  # what is said; the answer, and whether that is all


class Listener:
    """Listens from when it is made until it is closed, in a thread of its own.

    Parameters
    ----------
    address : str
        Of this computer in the home network.
    hear : callable
        Told what the phone says; gives the answer's words, and whether everything has come.
    life_s : float
        Until it closes by itself.

    Raises
    ------
    UsageError
        The system does not let it.
    """

    def __init__(self, address: str, hear: Hear, life_s: float) -> None:
        self._box, self._hear = Box(), hear
        self.ends_at = monotonic() + life_s
        self.seen = False  # whether the phone has said anything
        opened = _bound(address)
        self._host = f"{address}:{opened.getsockname()[1]}"
        routes = [Route("/say", self._said, methods=["POST"]), *(Route(path, _page) for path in PAGES)]
        guarded = Guard(Starlette(routes=routes, exception_handlers={HTTPException: _refused}), self._host)
        self._server = quiet_server(guarded, round(LAST_ANSWER_S), MOST_AT_ONCE)
        self._thread = Thread(target=lambda: asyncio.run(self._live(opened, life_s)), name="phone", daemon=True)
        self._thread.start()

    @property
    def link(self) -> str:
        """What the code on the screen says: the address, and the key in its fragment, which browsers send to nobody."""
        return f"http://{self._host}/#{self._box.told}"

    @property
    def is_open(self) -> bool:
        """Whether it still listens."""
        return self._thread.is_alive() and not self._server.should_exit

    def close(self) -> None:
        """Listen no more; a photo that is being looked at is still answered."""
        self._server.should_exit = True

    def end(self) -> None:
        """Be gone at once."""
        self._server.force_exit = self._server.should_exit = True
        self._thread.join(ENDED_S)

    async def _live(self, opened: socket.socket, life_s: float) -> None:
        asyncio.get_running_loop().call_later(life_s, self.close)
        await self._server.serve(sockets=[opened])

    async def _said(self, request: Request) -> Response:
        if not self.is_open:
            raise HTTPException(410, "This is closed.")
        try:
            said = self._box.opened(await _body(request))
        except NotOursError:
            raise HTTPException(403, "This was not sealed with the key of the code on the screen.") from None
        self.seen = True
        words, over = await self._hear(said)
        answer = self._box.answer(said, {**words, "over": over})
        return Response(answer, media_type="application/octet-stream", background=BackgroundTask(self.close) if over else None)


class Guard:
    """Lets in what comes from the home network or this computer, asks for this very address, and was asked for by no other site's page."""

    def __init__(self, app: ASGIApp, host: str) -> None:
        self._app, self._host = app, host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        client = (scope["client"] or ("", 0))[0]
        if not is_private(client) and client != self._host.partition(":")[0]:
            answer = PlainTextResponse("You are not in this home's network.", 403, HEADERS)
        elif headers.get("host") != self._host:
            answer = PlainTextResponse("This is not the address that fitcheck is at.", 421, HEADERS)
        elif headers.get("origin", f"http://{self._host}") != f"http://{self._host}":
            answer = PlainTextResponse("Another site's page asked for this.", 403, HEADERS)
        else:
            await self._app(scope, receive, send)
            return
        await answer(scope, receive, send)


def _page(request: Request) -> Response:
    name = PAGES[request.url.path]
    data = (files("fitcheck.web.phone") / "static" / name).read_bytes()
    return Response(data, media_type=KINDS[name.rsplit(".", 1)[1]], headers=HEADERS)


def _refused(request: Request, error: Exception) -> Response:
    code, detail = (error.status_code, error.detail) if isinstance(error, HTTPException) else (400, "")
    return PlainTextResponse(detail, code, HEADERS)


async def _body(request: Request) -> bytes:
    """A message, and no more than one may have."""
    body = bytearray()
    async for data in request.stream():
        body += data
        if len(body) > MOST_BYTES:
            raise HTTPException(413, "This piece is larger than what is taken.")
    return bytes(body)


def _bound(address: str) -> socket.socket:
    opened = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        opened.bind((address, 0))
        opened.listen()
    except OSError as error:
        opened.close()
        raise UsageError(
            f"This computer does not let a phone in ({error.strerror}).", "Copy the photos by cable, and drop them here."
        ) from None
    return opened
