"""All fittings on the table, and the queue before the one process that reads and measures."""

import secrets
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from threading import Lock
from typing import Concatenate, ParamSpec, TypeVar

from fitcheck.core.errors import FitcheckError, PhotoError
from fitcheck.web.choices import Choices
from fitcheck.web.desk import Desk
from fitcheck.web.faults import as_told
from fitcheck.web.place import Place
from fitcheck.web.reader import GoneError, Reader
from fitcheck.web.work import Work

EMPTY = 5  # drafts without a photo: somebody may just be choosing one
Given = ParamSpec("Given")
Result = TypeVar("Result")


class Bench:
    """The fittings of one running program that are not cleared away."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self._works: dict[str, Work] = {}
        self._reader = Reader()
        self._queue = ThreadPoolExecutor(1, "reader")
        self._at: Work | None = None  # that is being checked now, or whose film is read
        self._turn = Lock()

    def begin(self) -> Work:
        """A new fitting; of earlier ones that never got a photo only the latest are kept."""
        for empty in [work for work in self.works() if not work.photos][EMPTY:]:
            self.clear(empty)
        work = Work(secrets.token_urlsafe(9), self.place.new_folder())
        self._works[work.id] = work
        return work

    def get(self, id: str) -> Work | None:
        """A fitting by its name in addresses."""
        return self._works.get(id)

    def works(self) -> list[Work]:
        """All of them, the newest first."""
        return list(self._works.values())[::-1]

    def clear(self, work: Work) -> None:
        """Forget a fitting, whatever is still going on with it."""
        self._works.pop(work.id, None)
        with self._turn:
            if self._at is work:
                self._reader.stop()
        self.ask(Desk.forget, work.id).add_done_callback(lambda _: work.clear())

    def warm_up(self) -> None:
        """Load what measures, before the first photo needs it."""
        self._queue.submit(self._reader.ask, Desk.load)

    def ask(self, task: Callable[Concatenate[Desk, Given], Result], /, *given: Given.args, **named: Given.kwargs) -> "Future[Result]":
        """Have the reading process do something, when it is its turn."""
        return self._queue.submit(lambda: self._asked(lambda: self._reader.ask(task, *given, **named)))

    def check(self, work: Work, choices: Choices) -> None:
        """Have a fitting checked; what comes of it stands in the fitting."""
        self._wait(work, filming=False)
        self._queue.submit(self._at_work, work, lambda: self._check(work, choices))

    def film(self, work: Work, path: Path) -> None:
        """Have the views taken out of a film; those that no photo shows yet go into the fitting."""
        self._wait(work, filming=True)
        self._queue.submit(self._at_work, work, lambda: self._film(work, path))

    def close(self) -> None:
        """End everything that is still going on."""
        self._queue.shutdown(wait=False, cancel_futures=True)
        self._reader.close()

    def _wait(self, work: Work, filming: bool) -> None:
        work.state, work.trouble, work.filming = "waiting", ("", ""), filming
        work.told("waiting for its turn", 0.0)

    def _check(self, work: Work, choices: Choices) -> None:
        photos = work.in_order()
        case = work.case(photos, choices)
        views = self._asked(lambda: self._reader.ask_and_hear(work.told, Desk.check, case))
        work.answered(photos, views)

    def _film(self, work: Work, path: Path) -> None:
        try:
            film = self._asked(lambda: self._reader.ask_and_hear(work.told, Desk.film, path, path.with_suffix("")))
        except FitcheckError as error:
            path.unlink(missing_ok=True)
            raise PhotoError(error.problem.replace(path.name, "The film"), error.next_step) from error
        if work.film is not None:
            work.film.unlink(missing_ok=True)
        work.film, work.moments = path, film.moments
        taken = {photo.view for photo in work.photos if not photo.says}
        for one in film.views:
            if one.photo.view not in taken:
                work.add_filmed(one)
        work.state = "draft"

    def _at_work(self, work: Work, job: Callable[[], None]) -> None:
        """Something long about a fitting; whatever goes wrong is told there."""
        with self._turn:
            self._at = work
        work.state = "checking"
        try:
            job()
        except Exception as error:
            refusal = as_told(error)
            work.state, work.trouble = "failed", (refusal.problem, refusal.next_step)
        finally:
            with self._turn:
                self._at = None

    def _asked(self, ask: Callable[[], Result]) -> Result:
        """An answer; where the reader died over it, another one gets ready at once."""
        try:
            return ask()
        except GoneError:
            with suppress(RuntimeError):  # the queue is closed
                self.warm_up()
            raise
