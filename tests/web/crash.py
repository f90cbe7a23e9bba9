"""What a test has the reading process do in place of its work."""

import os
import signal
import time

from fitcheck.core.errors import PhotoError
from fitcheck.web.desk import Desk


def die(desk: object, how: signal.Signals) -> None:
    """As a fault in a library, or the system that needs the memory, ends a process."""
    os.kill(os.getpid(), how)
    time.sleep(60)


def number(desk: object) -> int:
    """Which process it is."""
    return os.getpid()


def refuse(desk: object) -> None:
    """As a photo that cannot be used."""
    raise PhotoError("It is dark.", "Add light.")


def stumble(desk: object) -> None:
    """A fault of the program's own; what an error says may be hers."""
    raise ZeroDivisionError("her name")


def chatter(desk: object) -> str:
    """As libraries do that print past every setting."""
    os.write(1, b"a line of a library\n")
    print("another")
    return "said"


def wait(desk: object, seconds: float) -> None:
    time.sleep(seconds)


def tell_and_wait(desk: Desk, seconds: float) -> None:
    """As something long does."""
    desk._tell("waiting", 0.5)
    time.sleep(seconds)
