"""What lies across a line drawn on cloth: where its centre is, how its colour differs from the cloth, and whether cloth lies beside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.polyline import continued, length, resampled, unit
from fitcheck.core.records import Floats
from fitcheck.vision.cloth.find_cloth import Cloth
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS, from_rgb, to_rgb

# Pixels are those of the picture that lines are looked for in, about 0.75 mm each; colours are log colours. Estimates, where no line says
# more.
# the profile across a line, and what of it is the line, the cloth close by and the cloth farther out
REACH, STEP = 6.5, 0.5  # half length, and between its samples, px
LINE_PX = 1.0  # half the inner part of a line, where it has its full colour
CLOSE_PX, FAR_PX = (2.75, 4.25), (4.0, REACH)  # where the cloth beside is looked at
CLOSE_AT_PX, FAR_AT_PX = 3.5, 5.25  # their middles
ACROSS_OVER, ALONG = 2, 6  # profiles are averaged over so many points each way; the colour for a line's centre over so many
CHORD = 4  # points each way that tell a line's direction
EVEN_OVER = 2  # points each way over which an evened line is smoothed
# what can be pen or tape
NOISE = 2.0  # of one colour in grey levels, after averaging along the line (JPEG)
COLOUR_CONTRAST = 0.06  # least change of the ratios
DARK_CONTRAST, LIGHT_CONTRAST = 0.35, 0.30  # least change of brightness: more than a fold's
MOST_ASIDE_PX = 2.5  # of its centre from the ridge it was found by
ALIKE = 0.45  # largest difference in log brightness of cloth on the two sides
# a line along the edge of the cloth
EDGE_CONTRAST = 0.05  # least distance of the ratios from any mixture of both sides; the shade of a bare edge has less (measured on scenes)
SKIN_CONTRAST = 0.30  # the same of the whole colour beside skin, with which cloth mixes less plainly (measured on scenes)
BROWN = -0.05  # change of both ratios from which a line between cloth and skin is their shadow
MIXTURES = 9  # tried between the two sides
BLURRED, BLURS_FROM = 0.2, 0.4  # JPEG blurs colour wider than brightness: by that share of what the sides' ratios differ by beyond this
# the centre of a line
COLOURED, SHADOW_SHARE = 0.25, 0.35  # in a line of more colour than that its darkness counts by that share: a tape throws a shadow
FULL_COLOUR = 1.5  # of the usual one, that a place counts for at most
WINDOW_PX, EDGE_WINDOW_PX, ROUNDS = 4.0, 2.5, 3  # half width of the window that follows the centre, and how often it is moved


@dataclass(frozen=True, slots=True)
class CrossSection:
    """What lies across each of N points of a line.

    Attributes
    ----------
    shift : ndarray, shape (N,)
        Of the line's centre from the point, along the normal.
    change : ndarray, shape (N, 3)
        Log colour of the line minus that of the cloth.
    valid : ndarray of bool, shape (N,)
        A line drawn on cloth, no edge, shadow or fold.
    edge : ndarray of bool, shape (N,)
        Cloth lies on one side only.
    """

    shift: Floats
    change: Floats
    valid: NDArray[np.bool_]
    edge: NDArray[np.bool_]

    def part(self, where: slice) -> "CrossSection":
        """The same for some of the points."""
        return CrossSection(self.shift[where], self.change[where], self.valid[where], self.edge[where])


def look_across(lines: Sequence[Floats], colour: NDArray[np.float32], cloth: Cloth) -> list[CrossSection]:
    """Measure colour profiles across every point of some lines, about 2 px apart.

    Parameters
    ----------
    lines : sequence of ndarray, shape (N, 2)
    colour : ndarray of float32, shape (H, W, 3)
        Log colours (`cloth.log_colour`).
    cloth : Cloth
    """
    if not lines:
        return []
    offsets = np.arange(-REACH, REACH + STEP / 2, STEP, dtype=np.float32)
    at = np.concatenate(lines).astype(np.float32)
    number, sizes = np.arange(len(lines)), np.array([len(line) for line in lines])
    starts = np.cumsum(sizes) - sizes
    ends = starts + sizes - 1
    across = _normals_of(at, *ends_of(lines))
    at_x, at_y = (at[:, i : i + 1] + offsets * across[:, i : i + 1] for i in (0, 1))
    values = cv2.remap(colour, at_x, at_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    left, spot_left, on_left = _beside(-offsets, values, cloth)
    right, spot_right, on_right = _beside(offsets, values, cloth)
    alike = np.abs(left - right)[:, 0] < ALIKE
    edge = (on_left != on_right) | (on_left & on_right & ~alike)  # a wall may have the cloth's colour, in another light
    second = (edge & on_right & ~on_left)[:, None]
    own, other = np.where(second, right, left), np.where(second, left, right)  # of an edge: cloth, and what lies beyond
    slope = (offsets + spot_left[:, None]) / (spot_left + spot_right)[:, None]
    base = np.empty_like(values)
    for i in range(3):  # numpy is slow along a last axis as short as this
        base[..., i] = left[:, i, None] * (1 - slope) + right[:, i, None] * slope
    base[edge] = own[edge, None]
    # averages along each line; its ends are repeated so that they do not mix with the next line
    within = np.repeat(number, sizes + 2 * ALONG)
    wide = np.clip(np.arange(len(within)) - ALONG * (2 * within + 1), starts[within], ends[within])
    back = np.arange(len(at)) + ALONG * (2 * np.repeat(number, sizes) + 1)
    away = moving_mean((values - base)[wide], ACROSS_OVER)
    change = away[:, np.abs(offsets) <= LINE_PX].mean(1)
    steady = moving_mean(change, ALONG)[back]
    away, change = away[back], change[back]
    shift = _centre(offsets, away, steady, np.hypot(change[:, 1], change[:, 2]), edge)
    drawn = on_left & on_right & alike
    drawn[edge] = _on_edge(change[edge], own[edge], other[edge], cloth)
    valid = _inked(change, own, cloth) & (np.abs(shift) < MOST_ASIDE_PX) & drawn
    whole = CrossSection(shift.astype(float), change.astype(float), valid, edge)
    return [whole.part(slice(start, start + size)) for start, size in zip(starts.tolist(), sizes.tolist(), strict=True)]


def _beside(
    offsets: NDArray[np.float32], values: NDArray[np.float32], cloth: Cloth
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.bool_]]:
    """Colour on the side of positive offsets, how far out it was taken, and whether it is cloth: farther out, or else close by."""
    far, near = (_middle(values[:, (offsets >= start) & (offsets <= end)]) for start, end in (FAR_PX, CLOSE_PX))
    take_far = cloth.is_cloth(far)
    spot = np.asarray(np.where(take_far, FAR_AT_PX, CLOSE_AT_PX), np.float32)
    return np.where(take_far[:, None], far, near), spot, take_far | cloth.is_cloth(near)


def _middle(values: NDArray[np.float32]) -> NDArray[np.float32]:
    """Mean over axis 1 without the largest and the smallest: of three values the median, of six nearly, and much faster."""
    return np.asarray((values.sum(1) - values.max(1) - values.min(1)) / np.float32(values.shape[1] - 2))


def _centre(offsets: NDArray[np.float32], away: Floats, steady: Floats, chroma: Floats, edge: NDArray[np.bool_]) -> Floats:
    """Centroid of the line's own colour, in a window that follows it.

    A raised tape throws a thin grey shadow to one side, so a coloured line is centred on its colour more than on its darkness.
    """
    own = steady * np.stack([np.where(chroma > COLOURED, SHADOW_SHARE, 1.0), np.ones_like(chroma), np.ones_like(chroma)], 1)
    own = own / np.maximum((own * steady).sum(1, keepdims=True), 1e-6)
    share = np.clip(np.einsum("nkc,nc->nk", away, own), 0, FULL_COLOUR)
    shift = np.zeros(len(away))
    reach = np.where(edge, EDGE_WINDOW_PX, WINDOW_PX)[:, None]
    for _ in range(ROUNDS):
        window = np.clip(reach - np.abs(offsets[None] - shift[:, None]), 0, 1) * share
        shift = (window * offsets).sum(1) / np.maximum(window.sum(1), 1e-6)
    return shift


def _inked(change: Floats, own: Floats, cloth: Cloth) -> NDArray[np.bool_]:
    """Whether the change of colour can be pen or tape.

    A fold or shadow changes brightness alone, and less; the ratios it changes no more than they follow brightness all over the cloth.
    """
    shade = cloth.own_ratios(own[:, 0] + change[:, 0]) - cloth.own_ratios(own[:, 0])
    chroma = np.linalg.norm(change[:, 1:] - shade, axis=1)
    return np.asarray((chroma > COLOUR_CONTRAST + _unseen(change, own)) | (change[:, 0] < -DARK_CONTRAST) | (change[:, 0] > LIGHT_CONTRAST))


def _unseen(change: Floats, own: Floats) -> Floats:
    """Noise of the ratios, which is large where a colour is dark."""
    return np.asarray(NOISE / np.minimum(to_rgb(own).min(1), to_rgb(own + change).min(1)))


def _on_edge(change: Floats, own: Floats, other: Floats, cloth: Cloth) -> NDArray[np.bool_]:
    """Whether a line runs along the end of the cloth: its colour is no mixture of the two sides, nor one of them in shade.

    Where cloth bends away from the light it darkens towards its end, which is no black line. Between cloth and skin runs a thin brown
    shadow, which is no line either.
    """
    t = np.linspace(0, 1, MIXTURES)[:, None, None]
    away = own + change - from_rgb((1 - t) * to_rgb(own) + t * to_rgb(other))
    blur = BLURRED * np.maximum(np.linalg.norm((other - own)[:, 1:], axis=1) - BLURS_FROM, 0)
    coloured = np.linalg.norm(away[..., 1:], axis=-1).min(0) > EDGE_CONTRAST + blur + _unseen(change, own)
    step = (other - own)[:, 0]
    darker, lighter = change[:, 0] - np.minimum(step, 0), change[:, 0] - np.maximum(step, 0)  # than both sides
    skin = cloth.is_skin(other)
    apart = np.linalg.norm(away * COLOUR_WEIGHTS, axis=-1).min(0) > SKIN_CONTRAST + blur
    brown = (change[:, 1] > BROWN) & (change[:, 2] > BROWN)
    return np.asarray(np.where(skin, apart & ~brown, coloured | (darker < -DARK_CONTRAST) | (lighter > LIGHT_CONTRAST)))


def ends_of(lines: Sequence[Floats]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Of lines behind each other, for every point: the number of the first and of the last point of its own line."""
    sizes = np.array([len(line) for line in lines], np.intp)
    stops = np.cumsum(sizes)
    return np.repeat(stops - sizes, sizes), np.repeat(stops - 1, sizes)


def evenly_spaced(lines: Sequence[Floats], step: float) -> list[Floats]:
    """Some polylines again with vertices about `step` apart, smoothed over about 4 px: all together, as there are many short ones."""
    even = [resampled(line, max(2, round(length(line) / step) + 1)) for line in lines]
    if not even:
        return []
    points, (first, last) = np.concatenate(even), ends_of(even)
    over = np.minimum(EVEN_OVER, (last - first) // 2)
    i, total = np.arange(len(points)), points.copy()
    for away in range(1, EVEN_OVER + 1):
        for other in (i - away, i + away):
            inside = np.clip(other, first, last)  # beyond an end the line goes on as its turned image
            total += np.where(over >= away, 1.0, 0.0)[:, None] * (2 * points[inside] - points[np.clip(2 * inside - other, first, last)])
    return np.split(total / (2 * over + 1)[:, None], np.flatnonzero(i == last)[:-1] + 1)


def moving_mean(values: Floats, half: int) -> Floats:
    """Moving average over 2 half + 1 rows that keeps straight ends where they are."""
    half = min(half, (len(values) - 1) // 2)
    if half == 0:
        return values
    padded = continued(values, half)
    mean = cv2.blur(padded.reshape(len(padded), -1), (1, 2 * half + 1))[half:-half]
    return np.asarray(mean.reshape(values.shape), values.dtype)


def normals(points: Floats) -> Floats:
    """Unit normals (y, -x of the direction) from the chord over 9 points."""
    return _normals_of(points, 0, len(points) - 1)


def _normals_of(points: NDArray[Any], first: NDArray[np.intp] | int, last: NDArray[np.intp] | int) -> NDArray[Any]:
    """The same for several lines behind each other: number of the first and last point of each point's own line."""
    i = np.arange(len(points))
    chord = unit(points[np.minimum(i + CHORD, last)] - points[np.maximum(i - CHORD, first)])
    return np.stack([chord[:, 1], -chord[:, 0]], 1)
