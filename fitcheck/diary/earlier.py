"""The round before this one: what the diary knows of the same garment when a new fitting of it is checked."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise

from fitcheck.core.diary import Advised
from fitcheck.core.last_round import LastRound
from fitcheck.diary.reading import read_fitting, read_round
from fitcheck.diary.store import Diary

ONE_CUT_MM = 3.2  # what was taken back is what was made to within a cut: an eighth of an inch


def last_round(diary: Diary, wearer: str, garment: str, day: date | None = None, without: int = 0) -> LastRound | None:
    """The latest round of a garment; repeats of a day are none.

    Parameters
    ----------
    day : date, optional
        That of the new fitting: later ones are not before it.
    without : int
        Number of a fitting that is left out, being the new one itself; 0 for none.

    Returns
    -------
    LastRound or None
        None where the diary holds no earlier fitting of this garment.

    Raises
    ------
    DiaryError
        The diary is damaged.
    """
    before = [e for e in diary.entries(wearer, garment) if not e.retake and e.number != without and (day is None or e.day <= day)]
    if not before:
        return None
    last = read_fitting(diary, before[-1].number)
    values = tuple(replace(m, from_px=None, to_px=None) for m in last.measurements)  # where they lie in other photos says nothing here
    return LastRound(last.entry.number, values, last.round, _given_up([read_round(diary, e.number) for e in before]))


def _given_up(rounds: Sequence[tuple[Advised, ...]]) -> tuple[str, ...]:
    """Alterations that a round made and the one after it took back."""
    back = [
        made.amount.id
        for first, second in pairwise(rounds)
        for made in first
        for undone in second
        if (made.amount.id, made.amount.side) == (undone.amount.id, undone.amount.side)
        and abs(made.amount.amount_mm + undone.amount.amount_mm) <= ONE_CUT_MM
    ]
    return tuple(dict.fromkeys(back))
