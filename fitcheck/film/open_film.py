"""Open a film and hand out its pictures, or say in one sentence why it cannot be used."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.errors import PhotoError

SUFFIXES = (".mp4", ".mov", ".m4v", ".webm", ".mkv")
FEWEST_SIDE_PX = 1000  # of the short side: with 720 lines printed stickers are lost (tried on drawn films)
MOST_SIDE_PX = 1440  # of the short side that is kept: more shows nothing more of a fitting, and all takes longer (tried on drawn films)
LONGEST_S = 300.0  # of a film that is read: four stands and three turns take half a minute (estimate)
SHORTEST_S = 5.0  # four stands cannot be shown in less (estimate)
LOOKS_A_SECOND = 8.0  # how often the film is looked at: a body sways with periods of a second and more
LARGEST_STEP_S = 2.0  # between two pictures; time stamps that leap further are wrong
WHOLE_SHARE = 0.95  # of the time that a film says it lasts; one that ends before, by more than a step, was cut off


@dataclass(frozen=True, slots=True)
class Look:
    """One picture of a film.

    Attributes
    ----------
    time_s : float
        Since its beginning.
    bgr : ndarray of uint8, shape (H, W, 3)
        Upright, at most 1440 px on the short side, its colours blue first, as they are decoded: few looks are ever needed as `rgb`.
    reduced : float
        Its size over that of the film.
    """

    time_s: float
    bgr: NDArray[np.uint8]
    reduced: float = 1.0

    @property
    def rgb(self) -> NDArray[np.uint8]:
        """Red first, made anew each time, shape (H, W, 3)."""
        return np.asarray(cv2.cvtColor(self.bgr, cv2.COLOR_BGR2RGB), np.uint8)


def is_film(path: Path) -> bool:
    """Whether a path has the ending of a film."""
    return path.suffix.lower() in SUFFIXES


def looks(path: Path, often: float = LOOKS_A_SECOND) -> Iterator[Look]:
    """Read a film once from its beginning to its end, and hand out some of its pictures.

    Parameters
    ----------
    path : Path
        mp4, mov, m4v, webm or mkv, of a codec that OpenCV's reader knows; turned upright as its track says.
    often : float
        Pictures a second.

    Yields
    ------
    Look
        In order of time.

    Raises
    ------
    PhotoError
        The file is missing, no film, cut off, too short or too long, or has fewer than 1000 px on the short side.
    """
    film = _opened(path)
    try:
        if (said := _said_s(film)) > LONGEST_S:
            raise _too_long(path.name)
        rate, last, due, none_yet = film.get(cv2.CAP_PROP_FPS), 0.0, 0.0, True
        usual_step = 1 / rate if math.isfinite(rate) and rate > 1 else 1 / 30
        while film.grab():  # every picture must be decoded, but few need be brought to RGB
            time_s = film.get(cv2.CAP_PROP_POS_MSEC) / 1000
            if not (none_yet or 0 < time_s - last < LARGEST_STEP_S):
                time_s = last + usual_step
            last = time_s
            if time_s < due:
                continue
            got, bgr = film.retrieve()
            if not got:
                continue
            if time_s > LONGEST_S:
                raise _too_long(path.name)
            due, none_yet = max(due + 1 / often, time_s), False
            by = _reduction(bgr, path.name)
            yield Look(time_s, _reduced(bgr, by), by)
    finally:
        film.release()
    if none_yet:
        raise _damaged(path.name)
    if last < WHOLE_SHARE * said - LARGEST_STEP_S:
        raise PhotoError(
            f"{path.name} was cut off when it was copied: of its {said:.0f} seconds only the first {last:.0f} are there.",
            "Copy it from the phone again, whole.",
        )
    if last < SHORTEST_S:
        raise PhotoError(
            f"{path.name} lasts only {last:.0f} seconds.",
            "Stand still for three seconds in each view, front, right, back and left: half a minute in all.",
        )


def lasts_s(path: Path) -> float:
    """How long a film says it is, in seconds; 0 where it does not say.

    Raises
    ------
    PhotoError
        It cannot be opened.
    """
    film = _opened(path)
    said = _said_s(film)
    film.release()
    return said


def _said_s(film: cv2.VideoCapture) -> float:
    rate, pictures = film.get(cv2.CAP_PROP_FPS), film.get(cv2.CAP_PROP_FRAME_COUNT)
    said = float(pictures / rate) if rate > 0 else 0.0
    return said if math.isfinite(said) and said > 0 else 0.0


def _opened(path: Path) -> cv2.VideoCapture:
    if not path.is_file():
        raise PhotoError(f'There is no film "{path.name}".', "Give the film's file, or the folder with the photos.")
    film = cv2.VideoCapture()
    film.setExceptionMode(False)
    if not film.open(str(path), cv2.CAP_FFMPEG):
        raise _damaged(path.name)
    return film


def _too_long(name: str) -> PhotoError:
    return PhotoError(
        f"{name} is longer than {LONGEST_S / 60:.0f} minutes.",
        "Film one fitting: four stands of three seconds each with a quarter turn between, half a minute in all.",
    )


def _damaged(name: str) -> PhotoError:
    return PhotoError(
        f"{name} is no film that can be read, or was cut off when it was copied.",
        "Copy it from the phone again, whole; mp4 and mov with H.264 or HEVC are read, and webm.",
    )


def _reduction(bgr: NDArray[np.uint8], name: str) -> float:
    short = min(bgr.shape[:2])
    if short < FEWEST_SIDE_PX:
        raise PhotoError(
            f"{name} has only {bgr.shape[1]} x {bgr.shape[0]} pixels, too few to see seam lines and stickers.",
            "Film in 1080p (full HD) or 4K, or take four photos.",
        )
    return float(min(1.0, MOST_SIDE_PX / short))


def _reduced(bgr: NDArray[np.uint8], by: float) -> NDArray[np.uint8]:
    if by == 1:
        return bgr
    return np.asarray(cv2.resize(bgr, (round(bgr.shape[1] * by), round(bgr.shape[0] * by)), interpolation=cv2.INTER_AREA), np.uint8)
