"""What tells a drawn or taped line from a pleat, a pocket, a placket, a stripe or a print: signs measured across and along it.

A line that was drawn has two edges, cloth of one colour on both sides, one width and one colour from end to end whatever the light, and
differs from the cloth by more than the cloth differs from itself nearby.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS, darkest_grey
from fitcheck.vision.lines.cross_section import moving_mean, normals
from fitcheck.vision.trace.curves import Curve

# Where a line is looked at, mm from its centre. Estimates; the models in models/pen were learnt with them.
REACH_MM, STEP_MM = 21.0, 0.375  # half length of the profiles across, and between their samples
OWN_MM, CORE_MM, NEAR_MM, FAR_MM = 4.0, 0.75, (3.0, 6.0), (5.0, 21.0)  # the line and its edges; its middle; cloth beside; cloth around
ALONG_POINTS, WANDER_POINTS = 3, 6  # to either side over which the colour is averaged, and the course, from which a line wanders
FEWEST_SEEN = 4  # points of a line that are not bridged, with fewer of which all are looked at
LIKE = 0.5  # share of the line's own change from which something beside it is like it
GREY_NOISE = 2.0  # of one colour in grey levels, along a line (JPEG)
SAME_TINT = 0.9  # cosine of two lines of one pen
BESIDE_MM, PARALLEL = (3.0, 70.0), 0.95  # how far aside the next stripe may lie; cosine of two stripes' directions
SHADED = 0.05  # log brightness by which the cloth along a line must vary to tell whether the line varies with it
MOST_FOLLOWS = 2.0  # of that share
PER_MM = 0.01  # area of cloth (mm2) that a mm of line is measured against: 100 mm2
# what is added before a logarithm is taken, so that nothing at all stays in bounds
LEAST, LEAST_SHARE, LEAST_CHROMA, LEAST_COMPANY = 1e-3, 0.02, 0.05, 0.1
NAMES = (
    "strength",  # change of colour against the cloth, log
    "chroma",  # share of it that is colour and not brightness, log
    "width",  # mm, log
    "edge_width",  # mm over which its edges rise, log
    "unsteady",  # usual deviation of the change along the line, as a share of it
    "stray",  # usual change in other colours than its own, as a share, log
    "uneven_sides",  # difference of the cloth on both sides, as a share, log
    "texture",  # usual deviation of the cloth around in the line's own colour, as a share, log
    "noise",  # of the cloth's darkest colour (a deep red has hardly any blue), as a share of the change, log
    "like_beside",  # share of the cloth around that is like it
    "parallel",  # strongest parallel to it, as a share of it
    "light_follows",  # how much its change varies with the light on the cloth, as a share of it
    "wander",  # mm, log
    "length",  # mm, log
    "on_edge",  # share with cloth on one side only
    "bridged",  # share that is not seen
    "clutter",  # length of all lines of the photo over the cloth's area, log
    "same_tint_length",  # mm of all lines of its colour, log
    "same_tint_share",  # of all lines' length
    "company",  # length of lines of its colour that run beside it, as a share of its own, log
    "company_of_all",  # the same, on average over the photo's lines by their length, log
)


@dataclass(frozen=True, slots=True)
class _Profiles:
    """Colours across every point of a line, weighted (`COLOUR_WEIGHTS`), and places across, mm."""

    away: Floats  # (N, K, 3) from the cloth beside
    share: Floats  # (N, K) of it along the line's own colour
    left: Floats  # (N, 3) cloth beside
    right: Floats
    mm: Floats  # (K,)


def pen_signs(curves: Sequence[Curve], colour: NDArray[np.float32], step_mm: float, cells: int) -> Floats:
    """Signs of every line, shape (N, len(NAMES)).

    Parameters
    ----------
    curves : sequence of Curve
        Points in pixels of `colour`.
    colour : ndarray of float32, shape (H, W, 3)
        Log colours.
    step_mm : float
        Size of a pixel.
    cells : int
        Pixels of cloth in the picture.
    """
    if not curves:
        return np.zeros((0, len(NAMES)))
    weighted = np.array([c.change * COLOUR_WEIGHTS for c in curves])
    tint = weighted / np.maximum(np.linalg.norm(weighted, axis=1, keepdims=True), LEAST)
    lengths = np.array([c.length_px * step_mm for c in curves])
    alike = (tint @ tint.T > SAME_TINT) @ lengths
    clutter = lengths.sum() / (PER_MM * max(cells * step_mm**2, 1.0))
    own = [
        [*_colour_signs(_profiles(curve, colour, step_mm, tint[i]), tint[i]), *_course_signs(curve, step_mm)]
        for i, curve in enumerate(curves)
    ]
    shared = np.stack(
        [np.full(len(curves), np.log(clutter + LEAST)), np.log(np.maximum(alike, LEAST)), alike / max(float(lengths.sum()), LEAST)], 1
    )
    company = _company(curves, tint, step_mm)
    of_all = float(company @ lengths / max(float(lengths.sum()), LEAST))
    beside = np.log(np.stack([company, np.full(len(curves), of_all)], 1) + LEAST_COMPANY)
    return np.concatenate([np.array(own), shared, beside], axis=1)


def _company(curves: Sequence[Curve], tint: Floats, step_mm: float) -> Floats:
    """Of each line: the length of others of its colour that run beside it, as a share of its own; stripes have many, pen lines few."""
    first, last = (np.array([c.points_px[i] for c in curves]) * step_mm for i in (0, -1))
    middle, chord = (first + last) / 2, last - first
    size = np.maximum(np.linalg.norm(chord, axis=1), LEAST)
    way = chord / size[:, None]
    apart = middle[None] - middle[:, None]  # [i, j] from line i to line j
    along = np.abs((apart * way[:, None]).sum(-1))
    aside = np.abs(apart[..., 0] * way[:, None, 1] - apart[..., 1] * way[:, None, 0])
    overlap = np.minimum(np.minimum(size[:, None], size[None]), (size[:, None] + size[None]) / 2 - along)
    beside = (aside > BESIDE_MM[0]) & (aside < BESIDE_MM[1]) & (np.abs(way @ way.T) > PARALLEL) & (tint @ tint.T > SAME_TINT)
    return np.asarray((np.maximum(overlap, 0.0) * beside).sum(1) / size)


def _seen(curve: Curve) -> Floats:
    return curve.points_px[curve.seen] if curve.seen.sum() >= FEWEST_SEEN else curve.points_px


def _profiles(curve: Curve, colour: NDArray[np.float32], step_mm: float, tint: Floats) -> _Profiles:
    points = _seen(curve)
    mm = np.arange(-REACH_MM, REACH_MM + STEP_MM / 2, STEP_MM)
    at = (points[:, None] + (mm / step_mm)[None, :, None] * normals(points)[:, None]).astype(np.float32)
    values = cv2.remap(colour, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(float) * COLOUR_WEIGHTS
    left = _median(values[:, (mm <= -NEAR_MM[0]) & (mm >= -NEAR_MM[1])], 1)
    right = _median(values[:, (mm >= NEAR_MM[0]) & (mm <= NEAR_MM[1])], 1)
    away = values - ((left + right) / 2)[:, None]
    return _Profiles(away, away @ tint, left, right, mm)


def _colour_signs(across: _Profiles, tint: Floats) -> list[float]:
    """The signs from `strength` to `light_follows`."""
    out = np.abs(across.mm)
    inner, around = out <= CORE_MM, (out >= FAR_MM[0]) & (out <= FAR_MM[1])
    core = across.share[:, inner].mean(1)
    core = moving_mean(core, min(ALONG_POINTS, (len(core) - 1) // 2))
    strength = max(float(_median(core)), LEAST)
    middle = _median(across.share) / strength
    own = middle[out <= OWN_MM]
    filled = np.clip(own, 0, None)
    rest = across.away[:, inner].mean(1) - core[:, None] * tint
    beside = across.share[:, around]
    light = (across.left + across.right)[:, 0] / 2
    light = light - light.mean()
    follows = float(light @ (core - core.mean())) / max(float(light @ light), LEAST) if light.std() > SHADED else 0.0
    return [
        np.log(strength),
        np.log(float(np.linalg.norm(tint[1:])) + LEAST_CHROMA),
        np.log(max(float(filled.sum() * STEP_MM / max(filled.max(), LEAST)), LEAST)),
        -np.log(max(float(np.abs(np.diff(own)).max()) / STEP_MM, LEAST)),
        float(_median(np.abs(core - strength)) / strength),
        _log_share(np.linalg.norm(rest, axis=1), strength),
        _log_share(np.linalg.norm(across.left - across.right, axis=1), strength),
        _log_share(np.abs(beside - _median(beside, 1)[:, None]).ravel(), strength),
        np.log(float(np.median(GREY_NOISE / darkest_grey((across.left + across.right) / 2 / COLOUR_WEIGHTS))) / strength),
        float((np.abs(beside) > LIKE * strength).mean()),
        float(np.abs(middle[around]).max()),
        float(np.clip(follows / strength, -MOST_FOLLOWS, MOST_FOLLOWS)),
    ]


def _log_share(sizes: Floats, strength: float) -> float:
    return float(np.log(_median(sizes) / strength + LEAST_SHARE))


def _median(values: Floats, axis: int = 0) -> Floats:
    """As numpy's, which asks more of small arrays than sorting them takes; there are a dozen for every line."""
    kept = np.sort(np.moveaxis(values, axis, -1), axis=-1)
    size = kept.shape[-1]
    return np.asarray((kept[..., (size - 1) // 2] + kept[..., size // 2]) / 2)


def _course_signs(curve: Curve, step_mm: float) -> list[float]:
    """The signs from `wander` to `bridged`."""
    points = _seen(curve)
    smooth = moving_mean(points, min(WANDER_POINTS, (len(points) - 1) // 2))
    wander = float(np.linalg.norm(points - smooth, axis=1).mean()) * step_mm
    return [np.log(wander + LEAST_SHARE), np.log(max(curve.length_px * step_mm, LEAST)), curve.edge, 1 - float(curve.seen.mean())]
