"""Patterns of cloth and wall, drawn by code: one stretch, to be repeated."""

from pathlib import Path

import cv2
import numpy as np

from ..mesh import Floats
from .parts import Print, Rgb

SIDE_PX = 1360
SOFT_PX = 6
AROUND = [(dx, dy) for dx in (-SIDE_PX, 0, SIDE_PX) for dy in (-SIDE_PX, 0, SIDE_PX)]  # a shape over an edge goes on at the other
PETALS = 5


def to_srgb(rgb: Rgb) -> Floats:
    """Linear RGB in 0..1 as BGR in 0..255."""
    linear = np.clip(np.array(rgb[::-1], float), 0, 1)
    return np.asarray(255 * np.where(linear < 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def cover(ground: Rgb, pattern: Print, seed: int) -> Floats:
    """One stretch (SIDE_PX, SIDE_PX, 3), BGR in 0..255, that meets itself when repeated."""
    random = np.random.default_rng(seed)
    paper = np.empty((SIDE_PX, SIDE_PX, 3))
    paper[:] = to_srgb(ground)
    inks = [to_srgb(ink) for ink in pattern.inks]
    drawn = {"checks": _checks, "stripes": _stripes, "flowers": _flowers, "spots": _spots}[pattern.kind](pattern.repeats, random)
    for number, share in drawn:
        soft = cv2.GaussianBlur(np.pad(share, SOFT_PX, mode="wrap"), (0, 0), 1.0)[SOFT_PX:-SOFT_PX, SOFT_PX:-SOFT_PX]
        share = soft[..., None] * pattern.strength
        paper = paper * (1 - share) + inks[number % len(inks)] * share
    return paper


def write(path: Path, ground: Rgb, pattern: Print, seed: int) -> None:
    """Write the picture of one stretch."""
    cv2.imwrite(str(path), cover(ground, pattern, seed).round().astype(np.uint8))


def _bands(repeats: int, random: np.random.Generator) -> list[tuple[int, Floats]]:
    """Along one axis (SIDE_PX,): a broad band and a thin one in every repeat."""
    phase = np.arange(SIDE_PX) * repeats / SIDE_PX % 1
    broad, thin = random.uniform(0.12, 0.5), random.uniform(0.03, 0.08)
    found = [(0, (phase < broad).astype(float))]
    if random.uniform() < 0.6:
        found.append((1, (np.abs(phase - broad - (1 - broad) / 2) < thin / 2).astype(float)))
    return found


def _stripes(repeats: int, random: np.random.Generator) -> list[tuple[int, Floats]]:
    upright = random.uniform() < 0.7
    whole = [(number, np.tile(band, (SIDE_PX, 1))) for number, band in _bands(repeats, random)]
    return [(number, band if upright else band.T.copy()) for number, band in whole]


def _checks(repeats: int, random: np.random.Generator) -> list[tuple[int, Floats]]:
    across = [(number, np.tile(band, (SIDE_PX, 1)) * 0.55) for number, band in _bands(repeats, random)]
    return across + [(number, band.T.copy()) for number, band in across]


def _spots(repeats: int, random: np.random.Generator) -> list[tuple[int, Floats]]:
    share, pitch = np.zeros((SIDE_PX, SIDE_PX)), SIDE_PX / repeats
    radius = pitch * random.uniform(0.12, 0.3)
    for row in range(2 * repeats):
        for column in range(repeats):
            at = (column + 0.5 * (row % 2)) * pitch, row * pitch / 2
            _disc(share, at, radius)
    return [(0, share)]


def _flowers(repeats: int, random: np.random.Generator) -> list[tuple[int, Floats]]:
    leaves, petals, hearts = (np.zeros((SIDE_PX, SIDE_PX)) for _ in range(3))
    for _ in range(repeats * repeats):
        middle, size, turn = random.uniform(0, SIDE_PX, 2), SIDE_PX / repeats * random.uniform(0.15, 0.35), random.uniform(0, 7)
        stem = middle + size * 2.6 * np.array([np.cos(turn), np.sin(turn)])
        for dx, dy in AROUND:
            first, last = ((middle + [dx, dy]).astype(int).tolist(), (stem + [dx, dy]).astype(int).tolist())
            cv2.line(leaves, first, last, 1.0, max(2, int(size / 7)), cv2.LINE_AA)
        for k in range(PETALS):
            angle = turn + 2 * np.pi * k / PETALS
            _disc(petals, (middle[0] + size * np.cos(angle), middle[1] + size * np.sin(angle)), size * 0.55)
        _disc(hearts, (middle[0], middle[1]), size * 0.4)
    return [(1, leaves), (0, petals), (2, hearts)]


def _disc(share: Floats, at: tuple[float, float], radius: float) -> None:
    """Filled, in place, also where it runs over an edge."""
    for dx, dy in AROUND:
        x, y = at[0] + dx, at[1] + dy
        if -radius < x < SIDE_PX + radius and -radius < y < SIDE_PX + radius:
            cv2.circle(share, (int(x), int(y)), max(1, int(radius)), 1.0, -1, cv2.LINE_AA)
