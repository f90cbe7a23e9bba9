"""The local server: on this computer's own address, until it is stopped; nothing of hers is left behind."""

import logging
import secrets
import signal
import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from fitcheck.core.errors import UsageError
from fitcheck.web.app import build
from fitcheck.web.bench import Bench
from fitcheck.web.choices import choices_path
from fitcheck.web.house import House
from fitcheck.web.phone.door import Door
from fitcheck.web.place import Place, usual_place
from fitcheck.web.quiet_server import quiet_server
from fitcheck.web.security import BEGIN, HOST, Guard

WAITING = 64


def serve(diary_folder: Path, port: int, browser: bool, say: Callable[[str], None]) -> None:
    """Serve the page until it is stopped.

    Parameters
    ----------
    diary_folder : Path
    port : int
        0: any that is free.
    browser : bool
        Whether to open the usual browser.
    say : callable
        Told the address to begin at.

    Raises
    ------
    UsageError
        The port is taken.
    """
    logging.getLogger("uvicorn").disabled = True  # requests name fittings
    with _listening(port) as listener, Place(usual_place()) as place:
        token = secrets.token_urlsafe(32)
        bench = Bench(place)
        door = Door(bench)
        at = int(listener.getsockname()[1])
        guarded = Guard(build(House(bench, door, diary_folder, choices_path(), lambda: _stop(server))), at, token)
        server = quiet_server(guarded, 1)
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):  # the usual handlers end the program at once, and what is hers would stay
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), lambda number, frame: _stop(server))
        address = f"http://{HOST}:{at}{BEGIN}?token={token}"
        say(address)
        if browser:
            webbrowser.open(address)
        try:
            server.run(sockets=[listener])
        except KeyboardInterrupt:  # Ctrl+C is how it is closed
            pass
        finally:
            door.end()
            bench.close()


def _stop(server: uvicorn.Server) -> None:
    server.should_exit = True


def _listening(port: int) -> socket.socket:
    # the event loop sends answers at once only where the protocol is named; else the second half of each waits 40 ms for a receipt
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HOST, port))
        listener.listen(WAITING)  # so that a browser that is faster than the rest of the start waits instead of failing
    except (OSError, OverflowError):
        listener.close()
        raise UsageError(f"Port {port} cannot be used on this computer.", "Leave --port out, or give another number.") from None
    return listener
