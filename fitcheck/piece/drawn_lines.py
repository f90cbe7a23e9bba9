"""Straight lines on the paper, dashed ones too, each as far as it is drawn."""

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.piece.ink import Ink

HOUGH_MM_PER_PX = 0.5
LEAST_MM = 24.0  # of a stretch that is looked at
BEYOND_MM = 60.0  # either end of a stretch, where it may go on
GAP_MM = 4.5  # wider than what dashes leave
DARK, DARK_MM, LEAST_DARK = 0.35, 12.0, 0.25  # a drawn place; an end of a line, and its drawn share: dots a third, crossings a tenth
ROUNDS = 3  # each longer one gives a better direction
FINE_MM = 0.7
ASIDE_MM, ALONG_MM = 1.3, 6.0  # within which two stretches are one line
STEP_MM = 0.25
SPECKS = 8  # steps: two millimetres of ink are no line


def drawn_lines(ink: Ink) -> list[tuple[Floats, Floats]]:
    """Both ends of each straight line, shape (2,), mm, the longest first.

    What the Hough transform returns are stretches: it follows whole pixels along rough directions and loses a line on the way. Each is
    therefore fitted and followed as far as the line is drawn.
    """
    found: list[tuple[Floats, Floats]] = []
    for ends in _stretches(ink):
        if not any(_same(ends, other) for other in found):
            line = _followed(ink, ends[0], ends[1])
            if line is not None and not any(_same(np.array(line), other) for other in found):
                found.append(line)
    return sorted(found, key=lambda line: -float(np.hypot(*(line[1] - line[0]))))


def _stretches(ink: Ink) -> list[Floats]:
    share = ink.picture.mm_per_px / HOUGH_MM_PER_PX
    small = cv2.resize(ink.dark, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    binary = (small > 0.22).astype(np.uint8)
    lines = cv2.HoughLinesP(binary, 1, np.pi / 720, 45, None, LEAST_MM / HOUGH_MM_PER_PX, 4.0 / HOUGH_MM_PER_PX)
    if lines is None:
        return []
    flat = lines.reshape(-1, 4).astype(float)
    longest = flat[np.argsort(-np.hypot(flat[:, 2] - flat[:, 0], flat[:, 3] - flat[:, 1]))][:400]
    return [ink.picture.low + (ends.reshape(2, 2) + 0.5) * HOUGH_MM_PER_PX - 0.5 * ink.picture.mm_per_px for ends in longest]


def across(ends: Floats) -> Floats:
    """Unit vector square to a line from end to end (2, 2)."""
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    return np.array([-way[1], way[0]])


def _same(ends: Floats, other: tuple[Floats, Floats]) -> bool:
    long = float(np.hypot(*(other[1] - other[0])))
    off = np.abs((ends - other[0]) @ across(np.array(other))).max()
    on = (ends - other[0]) @ ((other[1] - other[0]) / long)
    return bool(off < ASIDE_MM and on.min() > -ALONG_MM and on.max() < long + ALONG_MM)


def _followed(ink: Ink, one: Floats, two: Floats) -> tuple[Floats, Floats] | None:
    """The line through the darkest places near a stretch, and how far it runs dark; None where only specks are left of it."""
    for _ in range(ROUNDS):
        long = float(np.hypot(*(two - one)))
        followed = _as_far_as_dark(ink, *_fitted(ink, *_fitted(ink, one, two)))
        if followed is None:
            return None
        one, two = followed
        if float(np.hypot(*(two - one))) < long + DARK_MM:
            break
    return one, two


def _fitted(ink: Ink, one: Floats, two: Floats) -> tuple[Floats, Floats]:
    aside = across(np.array([one, two]))
    t = np.linspace(0.04, 0.96, 60)
    spots = one + t[:, None] * (two - one)
    d = np.arange(-FINE_MM, FINE_MM + 0.01, 0.1)
    seen = ink.at(spots[:, None] + d[:, None] * aside) ** 2
    mass = seen.sum(axis=1)
    off = (seen * d).sum(axis=1) / np.maximum(mass, 1e-6)
    weight = np.clip(mass / max(float(np.percentile(mass, 90)), 1e-6), 0, 1) + 1e-6
    slope, level = np.polyfit(t, off, 1, w=weight)
    return one + aside * level, two + aside * (level + slope)


def _as_far_as_dark(ink: Ink, one: Floats, two: Floats) -> tuple[Floats, Floats] | None:
    way = (two - one) / np.hypot(*(two - one))
    reach = np.arange(-BEYOND_MM, float(np.hypot(*(two - one))) + BEYOND_MM, STEP_MM)
    aside = across(np.array([one, two]))
    dark: NDArray[np.bool_] = np.max([ink.at(one + reach[:, None] * way + off * aside) for off in (-0.25, 0.0, 0.25)], axis=0) > DARK
    hit = np.flatnonzero(dark)
    if len(hit) < SPECKS:
        return one, two
    # the run around the stretch's middle without a gap wider than dashes leave, and without ends that other lines only cross
    runs = np.split(hit, np.flatnonzero(np.diff(hit) > GAP_MM / STEP_MM) + 1)
    run = min(runs, key=lambda own: float(np.abs(own - len(reach) // 2).min()))
    end = round(DARK_MM / STEP_MM)
    while len(run) > SPECKS and dark[run[-1] + 1 - end : run[-1] + 1].mean() < LEAST_DARK:
        run = run[:-1]
    while len(run) > SPECKS and dark[run[0] : run[0] + end].mean() < LEAST_DARK:
        run = run[1:]
    if len(run) < SPECKS:
        return None
    return one + reach[run[0]] * way, one + reach[run[-1]] * way
