"""The stretches of a film in which she stands still, each as a few sharp pictures."""

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import takewhile

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.film.open_film import Look

SMALL_SIDE_PX = 320  # of the long side, at which motion is looked for
LAG_LOOKS = (
    4  # between the two pictures that are compared, half a second: sway then is still small, and a turn is far above the flow's noise
)
MOVING_SHARE = (
    0.006  # of the long side in that time: 1 cm of a person who fills it; swaying 0.0002 to 0.002, turning 0.01 to 0.1 on drawn films
)
SHOWS_LEVELS = 8.0  # grey levels a pixel of the small picture: on flat walls the flow is noise
MOST_MOVED = 97.0  # percentile of the motion of what shows: her outline is part of it even in a busy room
SHORTEST_STAND_S = 1.2  # less is a pause while turning (estimate)
SETTLING_S = 0.3  # at either end of a stand, when she is still coming to rest (estimate)
MOST_PICTURES = 8  # of one stand: means of ten were no better than of eight, and each takes memory (tried on drawn films)


@dataclass(frozen=True, slots=True)
class Stand:
    """A stretch of a film in which nothing moves but by swaying.

    Attributes
    ----------
    start_s, end_s : float
    looks : tuple of Look
        At most eight, the sharpest of equal parts of the stretch.
    """

    start_s: float
    end_s: float
    looks: tuple[Look, ...]

    @property
    def lasts_s(self) -> float:
        """How long it is."""
        return self.end_s - self.start_s


def stands(film: Iterable[Look]) -> Iterator[Stand]:
    """The still stretches of a film, each handed out as it ends; no more pictures are held than those of one stretch.

    Parameters
    ----------
    film : iterable of Look
        In order of time.

    Yields
    ------
    Stand
        Those of 1.2 seconds and more.

    Notes
    -----
    Motion is the optical flow between two looks (DIS: Kroeger et al., ECCV 2016), at a coarse scale; its 99th percentile.
    """
    before: deque[NDArray[np.uint8]] = deque(maxlen=LAG_LOOKS)
    held: list[tuple[Look, float]] = []
    for look in film:
        grey = _half(look.bgr)
        small = _small(grey)
        if before and _moved(before[0], small) > MOVING_SHARE:
            yield from _ended(held)
            held = []
            before.clear()
        held = _thinned([*held, (look, _sharpness(grey))])
        before.append(small)
    yield from _ended(held)


def _moved(before: NDArray[np.uint8], after: NDArray[np.uint8]) -> float:
    """How far what shows in a picture has moved, as a share of its long side."""
    flow = cv2.DISOpticalFlow.create(cv2.DISOPTICAL_FLOW_PRESET_FAST).calc(before, after, np.zeros((*after.shape, 2), np.float32))
    gx, gy = (cv2.Sobel(before, cv2.CV_32F, dx, 1 - dx, scale=1 / 8) for dx in (1, 0))
    shows = np.hypot(gx, gy) > SHOWS_LEVELS
    return float(np.percentile(np.linalg.norm(flow[shows], axis=1), MOST_MOVED)) / max(after.shape) if shows.any() else 0.0


def around(film: Iterable[Look], moment_s: float) -> Stand | None:
    """The stretch of a second around a moment that she chose, still or not; None where the film does not reach so far."""
    so_far = takewhile(lambda look: look.time_s <= moment_s + SHORTEST_STAND_S / 2, film)
    near = [look for look in so_far if look.time_s >= moment_s - SHORTEST_STAND_S / 2]
    return Stand(near[0].time_s, near[-1].time_s, tuple(near[:MOST_PICTURES])) if near else None


def _half(bgr: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Every second pixel, grey: a quarter of the time, and motion and sharpness are as plain."""
    every_second = cv2.resize(bgr, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_NEAREST)
    return np.asarray(cv2.cvtColor(every_second, cv2.COLOR_BGR2GRAY), np.uint8)


def _sharpness(grey: NDArray[np.uint8]) -> float:
    """How sharp a picture is beside others of the same scene: variance of its Laplacian."""
    _, sd = cv2.meanStdDev(cv2.Laplacian(grey, cv2.CV_16S))
    return float(sd[0, 0]) ** 2


def _small(grey: NDArray[np.uint8]) -> NDArray[np.uint8]:
    by = SMALL_SIDE_PX / (2 * max(grey.shape))
    size = round(2 * grey.shape[1] * by), round(2 * grey.shape[0] * by)
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.uint8)


def _thinned(held: list[tuple[Look, float]]) -> list[tuple[Look, float]]:
    """As many pictures as are wanted at both ends and between: of neighbours nearest in time, the sharper stays."""
    if len(held) <= 2 * MOST_PICTURES:
        return held
    inner = range(1, len(held) - 2)  # the first and the last tell how long the stand was
    near = min(inner, key=lambda i: held[i + 1][0].time_s - held[i][0].time_s)
    blunter = near if held[near][1] < held[near + 1][1] else near + 1
    return held[:blunter] + held[blunter + 1 :]


def _ended(held: Sequence[tuple[Look, float]]) -> Iterator[Stand]:
    if not held:
        return
    start, end = held[0][0].time_s, held[-1][0].time_s
    if end - start < SHORTEST_STAND_S:
        return
    settled = [(look, sharp) for look, sharp in held if start + SETTLING_S <= look.time_s <= end - SETTLING_S]
    parts = np.array_split(np.arange(len(settled)), min(MOST_PICTURES, len(settled)))
    best = [max(part, key=lambda i: settled[i][1]) for part in parts]
    yield Stand(start, end, tuple(settled[i][0] for i in best))
