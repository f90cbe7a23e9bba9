"""A photo that came in, by whichever way: looked at, and put into its fitting."""

import asyncio
from pathlib import Path

from fitcheck.core.errors import FitcheckError, PhotoError, UsageError
from fitcheck.core.records import VIEWS, View
from fitcheck.web.bench import Bench
from fitcheck.web.desk import Desk
from fitcheck.web.work import MOST_PHOTOS, Held, Work


def must_take_more(work: Work) -> None:
    """See to it that a fitting is still being put together.

    Raises
    ------
    UsageError
        It is not.
    """
    if work.state not in ("draft", "failed"):
        raise UsageError("This fitting is being checked.", "Wait until it is done.")


async def take_in(bench: Bench, work: Work, path: Path, named: str = "") -> Held:
    """Look at a photo in a fitting's folder, and put it into the fitting.

    A fifth one takes the place of the one that shows the same view, if there was something to be said against that.

    Parameters
    ----------
    named : str
        What its file was called, where that is a view.

    Raises
    ------
    PhotoError
        It cannot be used, or there is no room for it; it is then removed.
    """
    try:
        look = await asyncio.wrap_future(bench.ask(Desk.look, path))
        view: View | None = look.seems or next((v for v in VIEWS if v == named), None)
        worse = [held for held in work.photos if held.view == view and held.look.trouble]
        if len(work.photos) == MOST_PHOTOS and worse:
            work.remove(worse[0].id)
        taken = {held.view for held in work.photos}
        held = Held(path.stem, path, look, None if view in taken else view)
        work.add(held)
    except FitcheckError as error:
        path.unlink(missing_ok=True)
        raise PhotoError(error.problem.replace(path.name, "this photo"), error.next_step) from error
    return held


def in_list(held: Held) -> dict[str, str | None]:
    """A photo as scripts are told of it."""
    return {"id": held.path.stem, "view": held.view, "seems": held.look.seems, "trouble": held.look.trouble}
