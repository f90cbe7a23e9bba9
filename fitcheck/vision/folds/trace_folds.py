"""Folds of the cloth: crests and hollows as sub-pixel curves, with length, width, height and take-up.

A small network says of every pixel of the garment how surely a crest or a hollow runs there and how high the cloth stands
(`fold_maps`); their centre lines are the ridges of those maps, with C. Steger's sub-pixel centre and linking (1998, see `ridges`). Each
curve is then measured on the mean profile of the heights across it. What cannot be read is told by the finest lines of the brightness:
paper crumpled all over, and the grid of creases from the pattern's packet (`creases`).
"""

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.folds import Fold
from fitcheck.core.polyline import length, unit
from fitcheck.core.records import Floats, View
from fitcheck.vision.folds.bare_cloth import STEP_MM, BareCloth
from fitcheck.vision.folds.creases import fine_lines, is_crumpled, packet_grid
from fitcheck.vision.folds.fold_maps import FoldMaps
from fitcheck.vision.trace.ridges import reach_px, ridge_chains

RIM_MM = 15.0  # nearer to the outline the cloth turns away too far (estimate)
MAP_SIGMA_MM = 4.0  # of the smoothing of the network's maps
WEAK, STRONG = 0.015, 0.03  # ridge response of a map to follow and to begin a fold
LEAST_SURE = 0.4  # mean of the map along a fold (estimate)
SHORTEST_MM = 40.0  # of a fold; fitted, with WEAK and STRONG, to sixteen draped fittings
ACROSS_MM = 40.0  # half length of the profiles
STRAIGHT, NARROW_MM = 0.97, 30.0  # a taut fold is straight and narrow (estimate)
# true height of a fold the network takes for 1 mm, and how it grows; fitted to 40 draped fittings, 130 folds
HEIGHT_AT_1_MM, HEIGHT_POWER = 2.05, 0.47
TAKE_UP_SD = 1.0  # relative: heights are known to a quarter on draped scenes, elsewhere worse, and count twice
UNIT_HEIGHT_MM, UNIT_LENGTH_MM = 3.0, 60.0  # of a fold of strength 1
BESIDE_MM, ALONG_SHARE = 12.0, 0.5  # a fold so near a crease over more than this share of it is the crease
EVERY = 4  # point of a fold is compared with the crease
ALONG_SD, ALONG_WINDOW = 3.0, 11  # points along a fold over which its direction is smoothed

Kind = Literal["ridge", "valley"]


@dataclass(frozen=True, slots=True)
class FoldCurve:
    """One crest or hollow, in pixels of the bare cloth."""

    kind: Kind
    points_px: Floats
    length_mm: float
    width_mm: float
    height_mm: float
    straightness: float  # chord over length


def find_folds(view: View, bare: BareCloth, maps: FoldMaps) -> tuple[tuple[Fold, ...], tuple[str, ...]]:
    """Find the folds of one photo.

    Parameters
    ----------
    view : View
    bare : BareCloth
        The garment of the photo.
    maps : FoldMaps
        What the network reads in it.

    Returns
    -------
    folds : tuple of Fold
        Strongest first.
    flags : tuple of str
        `cloth_crumpled` (then there are no folds) or `packet_creases` (those are left out).
    """
    readable = bare.hangs & (bare.inward_mm > RIM_MM)
    lines = fine_lines(bare, readable)
    on_grid = packet_grid(lines, STEP_MM)
    creases = [line for line, crease in zip(lines, on_grid, strict=True) if crease]
    others = [line for line, crease in zip(lines, on_grid, strict=True) if not crease]
    if is_crumpled(others, STEP_MM, float(readable.sum()) * STEP_MM**2):
        return (), ("cloth_crumpled",)
    curves = [curve for curve in fold_curves(maps, readable) if not any(_runs_along(curve.points_px, crease) for crease in creases)]
    folds = [as_fold(curve, view, bare.in_photo(curve.points_px)) for curve in curves]
    return tuple(sorted(folds, key=lambda f: -f.strength)), ("packet_creases",) if creases else ()


def _runs_along(points: Floats, crease: Floats) -> bool:
    """Whether most of a curve lies within BESIDE_MM of another."""
    gaps = np.hypot(*(points[::EVERY, None] - crease[None]).transpose(2, 0, 1)).min(axis=1)
    return bool((gaps * STEP_MM < BESIDE_MM).mean() > ALONG_SHARE)


def fold_curves(maps: FoldMaps, readable: NDArray[np.bool_]) -> list[FoldCurve]:
    """Crests and hollows of a garment where it is readable."""
    found = []
    around = np.ones((2 * reach_px(MAP_SIGMA_MM / STEP_MM) + 1,) * 2, np.uint8)
    kinds: tuple[tuple[Kind, NDArray[np.float32], float], ...] = (("ridge", maps.ridge, 1.0), ("valley", maps.valley, -1.0))
    for kind, sure, sign in kinds:
        raised = sign * maps.height_mm
        # a map of 0 to 1 has no ridge response above its highest value within reach
        allowed = cv2.dilate((sure > WEAK).astype(np.uint8), around) * readable
        for chain in ridge_chains(sure, allowed, MAP_SIGMA_MM / STEP_MM, WEAK, STRONG):
            x, y = np.round(chain).astype(int).T
            if length(chain) * STEP_MM >= SHORTEST_MM and sure[y, x].mean() >= LEAST_SURE:
                found.append(_measured(kind, chain, raised))
    return found


def _measured(kind: Kind, chain: Floats, raised: NDArray[np.float32]) -> FoldCurve:
    told, width = across(chain, raised)
    length_mm = length(chain) * STEP_MM
    straightness = float(np.hypot(*(chain[-1] - chain[0]))) * STEP_MM / length_mm
    return FoldCurve(kind, np.asarray(chain, np.float64), length_mm, width, HEIGHT_AT_1_MM * told**HEIGHT_POWER, straightness)


def across(chain: Floats, raised: NDArray[np.float32]) -> tuple[float, float]:
    """Height over its feet and width at half height of a crest, both mm, from the mean profile across it.

    Parameters
    ----------
    chain : ndarray, shape (N, 2)
        The crest, pixels.
    raised : ndarray of float32, shape (H, W)
        Heights, mm; for a hollow their negative.

    Returns
    -------
    height, width : float
    """
    smooth = cv2.GaussianBlur(chain.astype(np.float32), (1, ALONG_WINDOW), 0, sigmaY=ALONG_SD, borderType=cv2.BORDER_REPLICATE)
    along = unit(np.gradient(smooth, axis=0))
    normal = np.stack([-along[:, 1], along[:, 0]], 1)
    half = round(ACROSS_MM / STEP_MM)
    offset = np.arange(-half, half + 1, dtype=np.float32)
    at = (chain[:, None] + offset[None, :, None] * normal[:, None]).astype(np.float32)
    profile = cv2.remap(raised, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).mean(0)
    crest = float(profile[half - 1 : half + 2].max())
    told = max(crest - float(np.mean([profile[: half - 1].min(), profile[half + 2 :].min()])), 0.0)
    below = profile < crest - told / 2
    right, left = (int(np.argmax(side)) if side.any() else half for side in (below[half:], below[half::-1]))
    return told, (right + left) * STEP_MM


def as_fold(curve: FoldCurve, view: View, points: Floats) -> Fold:
    """A measured curve as a fold of a photo.

    Parameters
    ----------
    curve : FoldCurve
    view : View
    points : ndarray, shape (N, 2)
        The curve in pixels of the photo.
    """
    points = points if points[0, 1] <= points[-1, 1] else points[::-1]
    x, y = points[-1] - points[0]
    taut = curve.straightness >= STRAIGHT and curve.width_mm <= NARROW_MM
    # a sine wave of that height, twice as long as it is wide at half height, is longer than its chord by (pi h)^2 / (4 wavelength)
    take_up = (np.pi * curve.height_mm) ** 2 / (4 * 2 * max(curve.width_mm, STEP_MM))
    return Fold(
        view,
        curve.kind,
        points,
        curve.length_mm,
        float(np.degrees(np.arctan2(x, max(y, 1e-9)))),
        curve.width_mm,
        curve.height_mm,
        curve.height_mm / UNIT_HEIGHT_MM * curve.length_mm / UNIT_LENGTH_MM,
        "taut" if taut else "loose",
        float(take_up),
        float(TAKE_UP_SD * take_up),
    )
