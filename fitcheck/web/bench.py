"""All fittings on the table, and the one worker that measures them, one after the other: what measures is not made for two at a time."""

import secrets
import traceback
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

from fitcheck.core.errors import FitcheckError, UnforeseenError
from fitcheck.web.place import Place
from fitcheck.web.work import Work

WARM = 3  # fittings whose opened photos and results of stages are held: some 200 MB each
EMPTY = 5  # drafts without a photo: somebody may just be choosing one
Result = TypeVar("Result")


class Bench:
    """The fittings of one running program that are not cleared away."""

    def __init__(self, place: Place) -> None:
        self.place = place
        self._works: dict[str, Work] = {}
        self._worker = ThreadPoolExecutor(1, "worker")
        self._jobs: list[Future[Any]] = []

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
        self._submit(work.clear)

    def warm_up(self) -> None:
        """Load what measures, before the first photo needs it."""
        self._submit(_load)

    def do(self, job: Callable[[], Result]) -> "Future[Result]":
        """Have something done by the worker."""
        return self._submit(job)

    def check(self, work: Work) -> None:
        """Have a fitting checked; what comes of it stands in the fitting."""
        work.state, work.stage, work.share, work.trouble = "waiting", "waiting for its turn", 0.0, ("", "")
        self._submit(lambda: self._check(work))

    def warmed(self, work: Work) -> None:
        """This fitting was used last; those used longest ago let go of their memory."""
        self._works[work.id] = self._works.pop(work.id, work)
        for other in list(self._works.values())[:-WARM]:
            other.cool()

    @property
    def busy(self) -> bool:
        """Whether the worker is in the middle of something."""
        return any(not job.done() for job in self._jobs)

    def close(self) -> None:
        """No more jobs; the one that runs is not waited for."""
        self._worker.shutdown(wait=False, cancel_futures=True)

    def _submit(self, job: Callable[[], Result]) -> "Future[Result]":
        made = self._worker.submit(job)
        self._jobs = [*(one for one in self._jobs if not one.done()), made]
        return made

    def _check(self, work: Work) -> None:
        def tell(stage: str, share: float) -> None:
            work.stage, work.share = stage, share

        work.state, work.stage = "checking", "opening the photos"
        try:
            work.check(tell)
            self.warmed(work)
            work.state = "done"
        except FitcheckError as error:
            work.state, work.trouble = "failed", (error.problem, error.next_step)
        except Exception as error:
            unforeseen = as_unforeseen(error)
            work.state, work.trouble = "failed", (unforeseen.problem, unforeseen.next_step)


def as_unforeseen(error: Exception) -> UnforeseenError:
    """A fault of fitcheck itself: what and where, and nothing that could be hers. No file is written of it."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{type(error).__name__} in {Path(last.filename).name}, line {last.lineno}"
    return UnforeseenError(
        f"Something went wrong that fitcheck did not foresee ({place}).", "Please report these words. Everything else goes on working."
    )


def _load() -> None:
    for name in ("fitcheck.pipeline", "fitcheck.report.page.fitting_page"):
        import_module(name)
    import_module("fitcheck.vision.person.pose").get_ready()
