"""Trial solves: what the numbers would be if something lay elsewhere. Nothing of the fitting changes by them."""

from collections.abc import Sequence

from threadpoolctl import threadpool_limits

from fitcheck.body.placed import PlacedFile
from fitcheck.core.errors import UsageError
from fitcheck.core.seen import SeenFitting
from fitcheck.stages.kept import stage_keys
from fitcheck.stages.measure import measure_fitting
from fitcheck.stages.solve import solve
from fitcheck.web.work import Work


def tried(work: Work, placed: Sequence[PlacedFile]) -> list[dict[str, float]]:
    """The numbers, by their keys, under each of these corrections: solved and measured only.

    Raises
    ------
    UsageError
        Something lies outside its picture.
    """
    if work.kept is None:  # its memory was needed for others
        work.put_right(work.corrections)
    if work.result is None or work.kept is None:
        raise UsageError("This fitting is not checked yet.", "Wait until it is done.")
    photos = tuple(photo.photo for photo in work.result.photos)  # as they were put upright
    fitting = work.kept.under(stage_keys(photos, work.settings()))("cross_check", _gone)
    found = []
    with threadpool_limits(1, "blas"):
        for one in placed:
            measured = measure_fitting(fitting, solve(fitting, work.settings(one)))
            found.append({item.key: round(item.value, 3) for item in measured.measurements})
    return found


def _gone() -> SeenFitting:
    raise UsageError("The photos have changed since.", "Load the page again.")
