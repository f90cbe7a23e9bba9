"""The record of the round before a fitting, handed from the diary to the advice."""

from dataclasses import dataclass

from fitcheck.core.diary import Advised
from fitcheck.core.records import Measurement


@dataclass(frozen=True, slots=True)
class LastRound:
    """What the fitting before this one measured and advised, so that this one can see what came of it.

    Attributes
    ----------
    fitting : int
        Its number in the diary.
    given_up : tuple of str
        Alterations that were made in an earlier round and taken back in the one after it.
    """

    fitting: int
    measurements: tuple[Measurement, ...]
    steps: tuple[Advised, ...]
    given_up: tuple[str, ...] = ()
