"""All fittings on the table, and the queue of what takes long before the processes that read and measure."""

import secrets
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from fitcheck.core.errors import FitcheckError, PhotoError
from fitcheck.web.case import Case
from fitcheck.web.choices import Choices
from fitcheck.web.desk import Desk
from fitcheck.web.faults import as_told
from fitcheck.web.kept_photos import KeptPhotos
from fitcheck.web.place import Place
from fitcheck.web.readers import NO_FITTING, Readers
from fitcheck.web.work import Work

EMPTY = 5  # drafts without a photo: somebody may just be choosing one
Given = ParamSpec("Given")
Result = TypeVar("Result")


class Bench:
    """The fittings of one running program that are not cleared away.

    Attributes
    ----------
    kept : KeptPhotos
        What reads the photos that the diary keeps.
    """

    def __init__(self, place: Place) -> None:
        self.place = place
        self._works: dict[str, Work] = {}
        self._readers = Readers()
        self._long = ThreadPoolExecutor(1, "long")
        self.kept = KeptPhotos(self._readers)

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
        waiting = self._readers.forget(work.id)
        work.clear()
        for one in waiting:  # what is being looked at may still write something
            one.add_done_callback(lambda _: work.clear())

    def warm_up(self) -> None:
        """Load what measures, before the first photo needs it."""
        self._readers.warm_up()

    def ask(self, task: Callable[Concatenate[Desk, Given], Result], /, *given: Given.args, **named: Given.kwargs) -> "Future[Result]":
        """Have a reading process do something that is soon done, when it is its turn: for a case, the one that its fitting lives in."""
        fitting = next((one.id for one in given if isinstance(one, Case)), NO_FITTING)
        return self._readers.ask(fitting, task, *given, **named)

    def check(self, work: Work, choices: Choices) -> None:
        """Have a fitting checked; what comes of it stands in the fitting."""
        self._wait(work, filming=False)
        self._long.submit(self._at_work, work, lambda: self._check(work, choices))

    def film(self, work: Work, path: Path) -> None:
        """Have the views taken out of a film; those that no photo shows yet go into the fitting."""
        self._wait(work, filming=True)
        self._long.submit(self._at_work, work, lambda: self._film(work, path))

    def close(self) -> None:
        """End everything that is still going on."""
        self._long.shutdown(wait=False, cancel_futures=True)
        self._readers.close()

    def _wait(self, work: Work, filming: bool) -> None:
        work.state, work.trouble, work.filming = "waiting", ("", ""), filming
        work.told("waiting for its turn", 0.0)

    def _check(self, work: Work, choices: Choices) -> None:
        photos = work.in_order()
        case = work.case(photos, choices)
        views = self._readers.at_length(work.id, work.told, Desk.check, case)
        work.answered(photos, views)

    def _film(self, work: Work, path: Path) -> None:
        try:
            film = self._readers.at_length(work.id, work.told, Desk.film, path, path.with_suffix(""))
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
        if self._works.get(work.id) is not work:
            return
        work.state = "checking"
        try:
            job()
        except Exception as error:
            refusal = as_told(error)
            work.state, work.trouble = "failed", (refusal.problem, refusal.next_step)
