"""What the diary's commands do: the diary, the tables of the trade and the pages brought together."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fitcheck.core.errors import DiaryError, UsageError
from fitcheck.diary.contract import UnsoundError, sound
from fitcheck.diary.database import default_folder
from fitcheck.diary.names import tidy
from fitcheck.diary.photos import read_photo
from fitcheck.diary.recording import Keep, NewFitting, record
from fitcheck.diary.store import Diary

if TYPE_CHECKING:  # their imports cost more than most of these commands
    import numpy as np
    from numpy.typing import NDArray

    from fitcheck.core.check import FitCheck
    from fitcheck.core.diary import Comparison, DiaryPhoto, Fitting, Names, PostureDiary, Profile, Target
    from fitcheck.core.fitting import FittingFacts
    from fitcheck.core.last_round import LastRound
    from fitcheck.core.records import View
    from fitcheck.report.words.units import Units

    ReadPhoto = Callable[[DiaryPhoto, int], NDArray[np.uint8] | None]

PHOTO_HEIGHT_PX, THREADS = 760, 2


@dataclass(frozen=True, slots=True)
class Recorder:
    """A diary that is ready to take one fitting; made before the photos are measured, so that nothing is measured in vain."""

    folder: Path
    wearer: str
    garment: str
    keep: Keep
    retake: bool
    day: date | None

    def last_round(self) -> LastRound | None:
        """The round of this garment before this fitting; None where there is none, or this is a repeat of it.

        Raises
        ------
        DiaryError
            The diary is damaged.
        """
        return None if self.retake else earlier_round(self.folder, self.wearer, self.garment, self.day)

    def record(self, check: FitCheck, paths: Mapping[View, Path]) -> int:
        """Record the result; returns the fitting's number.

        Raises
        ------
        DiaryError
            It cannot be written; nothing of it is then in the diary.
        """
        from fitcheck.report.result import to_json

        kept = to_json(check) | {"summary": check.round.summary, "look_again": check.round.look_again}  # to be told in any units
        data = json.dumps(kept, ensure_ascii=False, allow_nan=False)
        with Diary(self.folder) as diary:
            return record(diary, NewFitting(check, data, self.wearer, self.garment, paths, self.keep, self.retake, self.day))


def recorder(place: str, facts: FittingFacts, keep: Keep = "copy", retake: bool = False) -> Recorder:
    """Get ready to record.

    Parameters
    ----------
    place : str
        The diary's folder; "" for the usual one.

    Raises
    ------
    UsageError
        Wearer or garment is not known, or the date is none.
    DiaryError
        The diary cannot be opened.
    """
    told = (("whose fitting", tidy(facts.wearer)), ("which garment", tidy(facts.garment)))
    if not all(name for _, name in told):
        missing = " and ".join(word for word, name in told if not name)
        raise UsageError(f"The diary needs to know {missing} this is.", "Say it with --wearer and --garment, or in fitting.toml.")
    folder = diary_folder(place)
    day = _day(facts.date)
    Diary(folder, create=True).close()
    return Recorder(folder, facts.wearer, facts.garment, keep, retake, day)


def earlier_round(folder: Path, wearer: str, garment: str, day: date | None = None, without: int = 0) -> LastRound | None:
    """The latest round of a garment in a diary; None where there is no such diary, garment or earlier fitting.

    Raises
    ------
    DiaryError
        The diary is damaged.
    """
    from fitcheck.diary.earlier import last_round

    with Diary(folder) as diary:
        return last_round(diary, wearer, garment, day, without)


def _day(text: str) -> date | None:
    try:
        day = date.fromisoformat(sound("fitting", {"day": text})["day"]) if text else None
    except UnsoundError as error:
        raise UsageError(f"{text} is no day of a fitting.", "Write it as year-month-day, 2026-04-02.") from error
    return day


def _start_fast() -> None:
    """Let numpy load without threads for linear algebra, which no page of the diary needs: they cost a quarter of its start."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def diary_folder(place: str | Path | None) -> Path:
    """The folder a user named, else the usual one."""
    return Path(place) if place else default_folder()


@dataclass(frozen=True, slots=True)
class Rounds:
    """Two rounds with all that their page shows.

    Attributes
    ----------
    pictures : dict of (fitting number, view) to ndarray or None
        None where a photo is missing.
    """

    comparison: Comparison
    pictures: dict[tuple[int, View], NDArray[np.uint8] | None]
    targets: dict[str, Target]
    names: Names

    @property
    def missing(self) -> int:
        """How many photos are."""
        return sum(picture is None for picture in self.pictures.values())


def compare_rounds(diary: Diary, first: int | None, second: int | None, units: Units, out_path: Path) -> tuple[Comparison, int]:
    """Write the page of two rounds; without numbers, the last two of the garment that was fitted last.

    Returns
    -------
    tuple of Comparison, int
        And how many photos are missing.

    Raises
    ------
    DiaryError, OutputError
    """
    rounds = two_rounds(diary, first, second)  # which lets numpy start fast
    from fitcheck.report.on_disk import write_page
    from fitcheck.report.page.compare_page import compare_page

    write_page(compare_page(rounds.comparison, rounds.pictures, rounds.targets, rounds.names, units), out_path)
    return rounds.comparison, rounds.missing


def two_rounds(diary: Diary, first: int | None, second: int | None, read: ReadPhoto = read_photo) -> Rounds:
    """Two rounds compared, with their photos; without numbers, the last two of the garment that was fitted last.

    Parameters
    ----------
    read : callable
        Reads a photo, as `read_photo` does; two at a time.

    Raises
    ------
    DiaryError
    """
    _start_fast()
    from concurrent.futures import ThreadPoolExecutor

    from fitcheck.diary.reading import read_fitting

    before, after = (read_fitting(diary, number) for number in _two(diary, first, second))
    jobs = {(fitting.entry.number, photo.view): photo for fitting in (before, after) for photo in fitting.photos}
    with ThreadPoolExecutor(THREADS) as pool:
        opened = pool.map(lambda photo: read(photo, PHOTO_HEIGHT_PX), jobs.values())
        # while the photos are read, all that the page needs besides
        from fitcheck.advice.page_facts import alteration_names
        from fitcheck.diary.compare import compare

        names = alteration_names()
        targets = _targets(after)
        comparison = compare(before, after, targets, names)
        pictures = dict(zip(jobs, opened, strict=True))
    return Rounds(comparison, pictures, targets, names)


def _two(diary: Diary, first: int | None, second: int | None) -> tuple[int, int]:
    if first is not None and second is not None:
        return first, second
    if first is not None:
        raise UsageError("One fitting cannot be compared.", "Give two numbers of 'fitcheck diary list', or none for the last two.")
    entries = [entry for entry in diary.entries() if not entry.retake]
    last = entries[-1] if entries else None
    same = [e.number for e in entries if last is not None and (e.wearer, e.garment) == (last.wearer, last.garment)]
    if len(same) < 2:
        raise DiaryError("The garment fitted last has no earlier round in the diary.", "Give two numbers of 'fitcheck diary list'.")
    return same[-2], same[-1]


def _targets(fitting: Fitting) -> dict[str, Target]:
    """What each measurement should read, by the tables of the trade."""
    from fitcheck.advice.page_facts import target

    found = {item.key: target(item.id, item.at, fitting.sleeve) for item in fitting.measurements}
    return {key: wanted for key, wanted in found.items() if wanted is not None}


def wearer_profile(diary: Diary, wearer: str, maker: str | None, units: Units, out_path: Path) -> Profile:
    """Write her profile.

    Raises
    ------
    DiaryError, OutputError
    """
    _start_fast()
    from fitcheck.advice.page_facts import alteration_names
    from fitcheck.diary.learnt import profile
    from fitcheck.diary.trends import posture_table
    from fitcheck.report.on_disk import write_page
    from fitcheck.report.page.profile_page import profile_page

    learnt = profile(diary, wearer, maker)
    write_page(profile_page(learnt, alteration_names(), {id: row["name"] for id, row in posture_table().items()}, units), out_path)
    return learnt


def wearer_posture(diary: Diary, wearer: str, units: Units, out_path: Path) -> PostureDiary:
    """Write her posture over time.

    Raises
    ------
    DiaryError, OutputError
    """
    _start_fast()
    from fitcheck.advice.page_facts import alteration_names
    from fitcheck.diary.trends import posture_diary, posture_table
    from fitcheck.report.on_disk import write_page
    from fitcheck.report.page.posture_page import posture_page

    posture = posture_diary(diary, wearer, alteration_names())
    write_page(posture_page(posture, posture_table(), units), out_path)
    return posture
