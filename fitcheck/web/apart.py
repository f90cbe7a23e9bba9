"""What runs in the reading process: it does what it is asked, answers, and is gone with the program that started it."""

import os
import pickle
import signal
from collections.abc import Callable
from contextlib import suppress
from queue import SimpleQueue
from threading import Lock, Thread
from typing import IO, Any

from fitcheck.core.progress import AtPhoto
from fitcheck.web.desk import Desk
from fitcheck.web.faults import as_told

GIVEN_UP_FIRST = b"500"  # of 1000: when memory is short, Linux is to end the reader before the page's program or her browser


def main() -> None:
    """Do what is asked, one thing after the other, without end."""
    questions, answers = _pipes()
    _settle()
    jobs: SimpleQueue[tuple[Callable[..., object], tuple[Any, ...], dict[str, Any]]] = SimpleQueue()
    Thread(target=_listen, args=(questions, jobs), daemon=True).start()
    alone = Lock()  # a stage tells of several photos from threads of its own

    def say(kind: str, said: object) -> None:
        with alone:
            pickle.dump((kind, said), answers)
            answers.flush()

    def tell(stage: str, share: float, photo: AtPhoto | None = None) -> None:
        say("told", (stage, share, photo))

    desk = Desk(tell)
    while True:
        task, given, named = jobs.get()
        try:
            made = task(desk, *given, **named)
        except Exception as error:
            refusal = as_told(error)
            say("refused", (refusal.problem, refusal.next_step))
        else:
            say("made", made)


def _pipes() -> tuple[IO[bytes], IO[bytes]]:
    """The pipes from and to the program, away from where libraries print to."""
    questions, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    for usual in (0, 1, 2):
        os.dup2(nothing, usual)
    os.close(nothing)
    return questions, answers


def _settle() -> None:
    for name in ("SIGINT", "SIGHUP"):  # meant for the program, which ends this process in its own time
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    with suppress(OSError):
        chance = os.open("/proc/self/oom_score_adj", os.O_WRONLY)
        with os.fdopen(chance, "wb") as file:
            file.write(GIVEN_UP_FIRST)


def _listen(questions: IO[bytes], jobs: "SimpleQueue[Any]") -> None:
    """Take questions in. The pipe ends with the program, however that ends, and then so does this process, whatever it is at."""
    with suppress(EOFError, OSError, pickle.UnpicklingError):
        while True:
            jobs.put(pickle.load(questions))
    os._exit(0)
