"""The two processes that read, and which of them is asked: one of them is always free of what takes long.

A fitting lives in one of them, where its opened photos and results are held. While that one is at a film or a whole reading, the other
answers in its place, as a question brings its whole case along; for the first such answer it has to read the photos itself.
"""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import count
from threading import Lock
from typing import Concatenate, ParamSpec, TypeVar

from fitcheck.core.progress import Progress
from fitcheck.web.desk import Desk
from fitcheck.web.reader import GoneError, Reader

READERS = 2
NO_FITTING = ""  # what a question is about that is about no fitting on the table
Given = ParamSpec("Given")
Result = TypeVar("Result")


@dataclass(eq=False)
class _Seat:
    """One of the processes.

    Attributes
    ----------
    queue : ThreadPoolExecutor
        Of what it is still to be asked, one thing at a time.
    lives : set of str
        The fittings that live here.
    taken : bool
        By something that takes long.
    at : str
        The fitting of that, as soon as it has begun.
    asked : int
        When it was asked last, in questions; 0 where it never was.
    """

    reader: Reader = field(default_factory=Reader)
    queue: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "reader"))
    lives: set[str] = field(default_factory=set)
    taken: bool = False
    at: str = NO_FITTING
    asked: int = 0


class Readers:
    """Both processes; what takes long may be asked for once at a time."""

    def __init__(self) -> None:
        self._seats = [_Seat() for _ in range(READERS)]
        self._lock = Lock()
        self._times = count(1)

    def warm_up(self) -> None:
        """Load what measures where the next fitting will live."""
        with self._lock:
            seat = self._next()
        self._load(seat)

    def ask(
        self, fitting: str, task: Callable[Concatenate[Desk, Given], Result], /, *given: Given.args, **named: Given.kwargs
    ) -> "Future[Result]":
        """Have something done that is soon done.

        Parameters
        ----------
        fitting : str
            That it is about, by its name in addresses; `NO_FITTING` for none.
        task, given
            As `Reader.ask`.
        """
        with self._lock:
            seat = self._seat(fitting)
        return seat.queue.submit(lambda: self._answer(seat, lambda: seat.reader.ask(task, *given, **named)))

    def at_length(
        self, fitting: str, tell: Progress, task: Callable[Concatenate[Desk, Given], Result], /, *given: Given.args, **named: Given.kwargs
    ) -> Result:
        """Have something done that takes long, and wait for it.

        Raises
        ------
        GoneError, FitcheckError
            As `Reader.ask_and_hear`.
        """
        with self._lock:
            seat = self._seat(fitting)
            seat.taken = True

        def work() -> Result:
            with self._lock:
                seat.at = fitting
            return self._answer(seat, lambda: seat.reader.ask_and_hear(tell, task, *given, **named))

        try:
            return seat.queue.submit(work).result()
        finally:
            with self._lock:
                seat.taken, seat.at = False, NO_FITTING

    def forget(self, fitting: str) -> "list[Future[None]]":
        """Stop what takes long about a fitting, and let go of what is held of it."""
        with self._lock:
            for seat in self._seats:
                seat.lives.discard(fitting)
                if seat.at == fitting:
                    seat.reader.stop()
            asked = [seat for seat in self._seats if seat.asked]
        return [seat.queue.submit(self._forget, seat, fitting) for seat in asked]

    def close(self) -> None:
        """End everything that is still going on."""
        for seat in self._seats:
            seat.queue.shutdown(wait=False, cancel_futures=True)
            seat.reader.close()

    def _next(self) -> _Seat:
        """Where a new fitting will live: alone if it can, else where nothing was asked for longest."""
        return min(self._seats, key=lambda seat: (seat.taken, bool(seat.lives), seat.asked if seat.lives else 0))

    def _seat(self, fitting: str) -> _Seat:
        if fitting == NO_FITTING:
            home = self._seats[0]
        else:
            home = next((seat for seat in self._seats if fitting in seat.lives), None) or self._next()
            home.lives.add(fitting)
        seat = min(self._seats, key=lambda seat: (seat.taken, seat is not home))
        seat.asked = next(self._times)
        return seat

    def _answer(self, seat: _Seat, ask: Callable[[], Result]) -> Result:
        """An answer; where the reader died over it, another one gets ready at once if a fitting waits for it."""
        try:
            return ask()
        except GoneError:
            if seat.lives:
                self._load(seat)
            raise

    def _load(self, seat: _Seat) -> None:
        with suppress(RuntimeError):  # it is closed
            seat.queue.submit(seat.reader.ask, Desk.load)

    def _forget(self, seat: _Seat, fitting: str) -> None:
        seat.reader.ask(Desk.forget, fitting)
