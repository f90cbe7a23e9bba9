"""Trial solves: what the numbers would be if something lay elsewhere. Nothing of the fitting changes by them."""

from collections.abc import Sequence

from threadpoolctl import threadpool_limits

from fitcheck.core.camera import Photo
from fitcheck.core.errors import UsageError
from fitcheck.core.seen import SeenFitting
from fitcheck.core.settings import Settings
from fitcheck.measure.observables import measure
from fitcheck.stages.kept import Kept, stage_keys
from fitcheck.stages.solve import solve


def tried(kept: Kept, photos: Sequence[Photo], now: Settings, others: Sequence[Settings]) -> list[dict[str, float]]:
    """The numbers, by their keys, under each of these settings: solved and measured only.

    Parameters
    ----------
    kept : Kept
        Of a check of these photos under the settings that hold now.

    Raises
    ------
    UsageError
        Something lies outside its picture.
    """
    fitting = kept.under(stage_keys(photos, now))("cross_check", _gone)
    found = []
    with threadpool_limits(1, "blas"):
        for one in others:
            solved = solve(fitting, one)
            measured, _ = measure(solved.body, solved.evidence.sightings)
            found.append({item.key: round(item.value, 3) for item in measured})
    return found


def _gone() -> SeenFitting:
    raise UsageError("The photos have changed since.", "Load the page again.")
