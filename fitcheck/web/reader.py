"""The process that reads photos and measures, as the page's program sees it: asked one thing at a time, started anew after it has died.

Libraries that decode pictures and run networks can end a process outright, and so can a system that is short of memory. Here they end the
reader only. What crosses the border are plain records, sentences and bytes; photos and results stay on its side.
"""

import pickle
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from threading import Lock
from typing import IO, TYPE_CHECKING, Concatenate, ParamSpec, TypeVar, cast

from fitcheck.core.errors import FitcheckError, UnforeseenError
from fitcheck.core.progress import Progress, unheard

if TYPE_CHECKING:
    from fitcheck.web.desk import Desk

Given = ParamSpec("Given")
Result = TypeVar("Result")

_BEGIN = "import sys; sys.path[:] = sys.argv[1:]; from fitcheck.web.apart import main; main()"
_STAY = "The rest of fitcheck goes on, and your other fittings are still here."
_OUT_OF_MEMORY = -9  # what the system sends then; nobody else does


class GoneError(UnforeseenError):
    """The reader died while it was at work, or the program is being closed."""


class Reader:
    """The reading process."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._closed = False
        self._lock = Lock()  # the program may be closed in the middle of anything

    def ask(self, task: "Callable[Concatenate[Desk, Given], Result]", /, *given: Given.args, **named: Given.kwargs) -> Result:
        """Have it do something, and wait for the answer.

        Parameters
        ----------
        task : callable
            A function of a module, or a method of `Desk`; it is given the desk and the rest.

        Raises
        ------
        GoneError
            It died over it.
        FitcheckError
            As the task says.
        """
        return self.ask_and_hear(unheard, task, *given, **named)

    def ask_and_hear(
        self, tell: Progress, task: "Callable[Concatenate[Desk, Given], Result]", /, *given: Given.args, **named: Given.kwargs
    ) -> Result:
        """As `ask`; `tell` is told how far it is."""
        process = self._running()
        try:
            pickle.dump((task, given, named), _open(process.stdin))
            _open(process.stdin).flush()
            while True:
                kind, said = pickle.load(_open(process.stdout))
                if kind == "made":
                    return cast(Result, said)
                if kind == "refused":
                    raise FitcheckError(*said)
                tell(*said)
        except (OSError, EOFError, pickle.UnpicklingError):
            raise self._gone(process) from None

    def close(self) -> None:
        """End it, whatever it is at, for good."""
        with self._lock:
            self._closed = True
        self.stop()

    def stop(self) -> None:
        """End what it is at; the next question starts it anew."""
        with self._lock:
            if self._process is not None:
                self._process.kill()
                self._process.wait()

    def _running(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._closed:
                raise GoneError("fitcheck is being closed.", "Open it again.")
            if self._process is None or self._process.poll() is not None:  # it may have died while nobody asked
                command = [sys.executable, "-P", "-c", _BEGIN, *sys.path]
                self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
            return self._process

    def _gone(self, process: subprocess.Popen[bytes]) -> GoneError:
        process.kill()
        code = process.wait()
        with self._lock:
            if self._closed:
                return GoneError("fitcheck is being closed.", "Open it again.")
            self._process = None
        for pipe in (process.stdin, process.stdout):
            with suppress(OSError):  # what was still to be written to it
                _open(pipe).close()
        if code == _OUT_OF_MEMORY:
            problem = "The computer ended the reading of this fitting, most likely because its memory was full."
            return GoneError(problem, f"Close other programs and try again. {_STAY}")
        problem = f"Reading this fitting ended in a fault of a library ({_name_of(code)})."
        return GoneError(problem, f"Try again; if it comes again, save the photo anew as jpg, or leave it out. {_STAY}")


def _open(pipe: IO[bytes] | None) -> IO[bytes]:
    assert pipe is not None  # both were asked for
    return pipe


def _name_of(code: int) -> str:
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"code {code}"
