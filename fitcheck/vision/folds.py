"""Folds of the cloth: crests and hollows as sub-pixel curves, with length, width, height and take-up.

The picture is brought to a fixed size of millimetres per pixel, pen lines and stickers are bridged, and its shading is turned into a
relief (`relief`). Crests and hollows are the ridges of the relief and of its negative: the Hessian of the smoothed relief across the
line, as in A. F. Frangi et al. 1998 ("Multiscale vessel enhancement filtering", MICCAI) and Y. Sato et al. 1998 ("Three-dimensional
multi-scale line filter", Medical Image Analysis 2), at one scale, with C. Steger's sub-pixel centre and linking (1998, see `ridges`).
Each curve is then judged on its mean profile across: what is too wide, one-sided or runs along the outline is the body's own form or a
shadow.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Floats, Fold, Photo, SeamLine, Sighting
from fitcheck.vision.cloth import Cloth, log_colour
from fitcheck.vision.creases import is_crumpled, packet_grid
from fitcheck.vision.relief import LINEAR, Light, bridged, flattened, light_on, relief_of
from fitcheck.vision.ridges import ridge_and_valley_chains
from fitcheck.vision.seams import hidden_by

WORKING_MM = 2.5  # per pixel: folds are 10 mm wide and more
SIGMA_MM = 6.5  # of the smoothing: suits folds up to 25 mm wide from flank to flank
WEAK_MM, STRONG_MM = 0.24, 0.5  # ridge response of the relief to follow and to begin a fold
RIM_MM = 25.0  # nearer to the outline the cloth turns away by more than 60 degrees (a trunk 350 mm wide)
EDGE_MM = 7.0  # kept clear of edges inside the outline: an opened front, a neckline, a sticker
DARK = 0.2  # of the usual brightness: in a deep shadow nothing is read
SHADOW_RIM_MM = 10.0
LINE_MM = 3.5  # half width left out around a seam line
SHORTEST_MM = 40.0
ACROSS_MM = 40.0  # half length of the profiles
WIDEST_MM, LEAST_BALANCE = 45.0, 0.3  # wider or more one-sided: the body's form
ALONG_RIM_MM, ALONG_RIM_DEG = 70.0, 30.0  # within this of the outline and this parallel to it: the body turning away, or an arm's shadow
LEAST_HEIGHT_MM = 1.2
LEAST_HEIGHT_ROOT_LENGTH = 14.0  # height times root of length (mm): a low fold must be long to be believed
STRAIGHT, NARROW_MM = 0.97, 30.0  # a taut fold is straight and narrow
TAKE_UP_SD = 0.6  # relative: the height is known to about a third and counts twice
UNIT_HEIGHT_MM, UNIT_LENGTH_MM = 3.0, 60.0


@dataclass(frozen=True, slots=True)
class FoldCurve:
    """One crest or hollow on a relief, in its pixels."""

    kind: Literal["ridge", "valley"]
    points_px: Floats
    length_mm: float
    width_mm: float
    height_mm: float
    balance: float  # lower flank over higher flank
    straightness: float  # chord over length


def find_folds(
    photo: Photo, cloth: Cloth, sightings: Sequence[Sighting], seams: Sequence[SeamLine], mm_per_px: float
) -> tuple[tuple[Fold, ...], tuple[str, ...]]:
    """Find the folds of one photo.

    Parameters
    ----------
    photo : Photo
    cloth : Cloth
        Where the garment lies (`cloth.find_cloth`).
    sightings : sequence of Sighting
        Stickers and dots, which hide the cloth.
    seams : sequence of SeamLine
        Drawn lines, which are no folds.
    mm_per_px : float
        Scale of the photo at the body.

    Returns
    -------
    folds : tuple of Fold
        Strongest first.
    flags : tuple of str
        `cloth_crumpled` (then there are no folds) or `packet_creases` (those are left out).
    """
    x0, y0, x1, y1 = cloth.box_px
    if min(x1 - x0, y1 - y0) * mm_per_px < 4 * RIM_MM:
        return (), ()
    zoom = mm_per_px / WORKING_MM
    rgb = _resized(photo.rgb[y0:y1, x0:x1], zoom)
    hang, sure = _bare_cloth(rgb, cloth, sightings, seams, zoom)
    if not sure.any():
        return (), ()
    luma = cv2.transform(cv2.LUT(rgb, LINEAR), np.array([[0.2126, 0.7152, 0.0722]], np.float32))
    filled, narrow = bridged(luma, sure, hang, WORKING_MM)
    excess, base = flattened(filled, hang, WORKING_MM)
    light = light_on(base, sure)
    lights = base[sure][::7]
    relief = relief_of(excess, base, float(np.percentile(lights, 98)), light, WORKING_MM)
    inward = _inward(hang)
    lit = cv2.erode((base > DARK * float(np.median(lights))).astype(np.uint8), _disc(SHADOW_RIM_MM))
    open_cloth = cv2.erode((narrow & hang).astype(np.uint8), _disc(EDGE_MM))
    curves = trace_folds(relief, (inward > RIM_MM) & (lit > 0) & (open_cloth > 0), WORKING_MM)
    curves = [curve for curve in curves if not _along_outline(curve, inward)]
    area_mm2 = float((inward > RIM_MM).sum()) * WORKING_MM**2
    if is_crumpled([c.points_px for c in curves], WORKING_MM, area_mm2):
        return (), ("cloth_crumpled",)
    grid = packet_grid([c.points_px for c in curves], WORKING_MM)
    kept = [curve for curve, crease in zip(curves, grid, strict=True) if not crease]
    folds = [_fold(curve, photo, light, np.array([x0, y0]), zoom) for curve in kept]
    return tuple(sorted(folds, key=lambda f: -f.strength)), ("packet_creases",) if any(grid) else ()


def _resized(rgb: NDArray[np.uint8], zoom: float) -> NDArray[np.uint8]:
    """By halves first, which is fast, then the rest of the way."""
    size = (round(rgb.shape[1] * zoom), round(rgb.shape[0] * zoom))
    while rgb.shape[1] > 2 * size[0] and rgb.shape[0] > 2 * size[1]:
        even = rgb[: rgb.shape[0] // 2 * 2, : rgb.shape[1] // 2 * 2]
        rgb = np.asarray(cv2.resize(even, (even.shape[1] // 2, even.shape[0] // 2), interpolation=cv2.INTER_AREA), np.uint8)
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA if zoom < 1 else cv2.INTER_LINEAR), np.uint8)


def _inward(hang: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Distance from the garment's outline, mm; an opened front or a neckline is no outline of the body."""
    first, last = hang.argmax(1), hang.shape[1] - 1 - hang[:, ::-1].argmax(1)
    columns, some = np.arange(hang.shape[1]), np.asarray(hang.any(axis=1))
    whole = (columns >= first[:, None]) & (columns <= last[:, None]) & some[:, None]
    return np.asarray(cv2.distanceTransform(np.pad(whole.astype(np.uint8), 1), cv2.DIST_L2, 3)[1:-1, 1:-1] * WORKING_MM, np.float32)


def _disc(radius_mm: float) -> NDArray[np.uint8]:
    side = 2 * round(radius_mm / WORKING_MM) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8)


def _bare_cloth(
    rgb: NDArray[np.uint8], cloth: Cloth, sightings: Sequence[Sighting], seams: Sequence[SeamLine], zoom: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Where the garment hangs, and where its cloth shows bare: no sticker, no pen line, named or not, no foreign colour."""
    size = rgb.shape[1::-1]
    mask = cv2.morphologyEx(cloth.mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    hang = np.asarray(cv2.erode(cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST), np.ones((3, 3), np.uint8)), np.bool_)
    origin = np.array(cloth.box_px[:2])
    covered = (~cloth.is_cloth(log_colour(rgb)) & hang).astype(np.uint8)
    for polygon in hidden_by(sightings, WORKING_MM / zoom):
        cv2.fillPoly(covered, [_at(polygon, origin, zoom)], 1)
    for seam in seams:
        cv2.polylines(covered, [_at(seam.points_px, origin, zoom)], False, 1, max(1, round(2 * LINE_MM / WORKING_MM) - 1))
    covered = cv2.dilate(covered, np.ones((3, 3), np.uint8))
    return hang, hang & (covered == 0)


def _at(points: Floats, origin: Floats, zoom: float) -> NDArray[np.int32]:
    return np.asarray(np.round((points - origin + 0.5) * zoom - 0.5), np.int32)


def trace_folds(relief: NDArray[np.float32], allowed: NDArray[np.bool_], step_mm: float) -> list[FoldCurve]:
    """Crests and hollows of a relief.

    Parameters
    ----------
    relief : ndarray of float32, shape (H, W)
        Heights, mm.
    allowed : ndarray of bool, shape (H, W)
        Where folds are looked for.
    step_mm : float
        Size of a pixel.
    """
    found = []
    kinds: tuple[tuple[Literal["ridge", "valley"], NDArray[np.float32]], ...] = (("ridge", relief), ("valley", -relief))
    chains = ridge_and_valley_chains(relief, allowed.astype(np.uint8), SIGMA_MM / step_mm, WEAK_MM, STRONG_MM)
    for (kind, raised), of_kind in zip(kinds, chains, strict=True):
        for chain in of_kind:
            length = float(np.hypot(*np.diff(chain, axis=0).T).sum()) * step_mm
            if length >= SHORTEST_MM:
                found.append(_measured(kind, chain, length, raised, step_mm))
    return [c for c in found if c.balance >= LEAST_BALANCE and c.width_mm <= WIDEST_MM and _high(c)]


def _high(curve: FoldCurve) -> bool:
    return curve.height_mm >= LEAST_HEIGHT_MM and curve.height_mm * np.sqrt(curve.length_mm) >= LEAST_HEIGHT_ROOT_LENGTH


def _measured(kind: Literal["ridge", "valley"], chain: Floats, length: float, raised: NDArray[np.float32], step_mm: float) -> FoldCurve:
    """Width and height from the mean profile across the curve."""
    chord = chain[-1] - chain[0]
    smooth = cv2.GaussianBlur(chain.astype(np.float32), (1, 11), 0, sigmaY=3.0, borderType=cv2.BORDER_REPLICATE)
    along = np.gradient(smooth, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1])[:, None], 1e-6)
    across = np.stack([-along[:, 1], along[:, 0]], 1)
    half = round(ACROSS_MM / step_mm)
    offset = np.arange(-half, half + 1, dtype=np.float32)
    at = (chain[:, None] + offset[None, :, None] * across[:, None]).astype(np.float32)
    profile = cv2.remap(raised, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).mean(0)
    crest = float(profile[half - 1 : half + 2].max())
    falls = np.array([crest - profile[: half - 1].min(), crest - profile[half + 2 :].min()])
    height = float(falls.mean())
    below = profile < crest - height / 2
    right, left = (int(np.argmax(side)) if side.any() else half for side in (below[half:], below[half::-1]))
    return FoldCurve(
        kind,
        np.asarray(chain, np.float64),
        length,
        (right + left) * step_mm,
        height,
        float(falls.min() / max(float(falls.max()), 1e-9)),
        float(np.hypot(*chord)) * step_mm / length,
    )


def _along_outline(curve: FoldCurve, inward: NDArray[np.float32]) -> bool:
    """Whether it runs beside and along the garment's outline."""
    chord = curve.points_px[-1] - curve.points_px[0]
    at = np.round(curve.points_px[:: max(1, len(curve.points_px) // 12)]).astype(int)
    x, y = at[:, 0].clip(4, inward.shape[1] - 5), at[:, 1].clip(4, inward.shape[0] - 5)
    slope = np.stack([inward[y, x + 4] - inward[y, x - 4], inward[y + 4, x] - inward[y - 4, x]], 1)
    slope /= np.maximum(np.hypot(slope[:, 0], slope[:, 1])[:, None], 1e-6)
    away = np.abs(slope @ (chord / max(float(np.hypot(*chord)), 1e-9))).mean()  # 0 parallel to the outline
    return bool(inward[y, x].mean() < ALONG_RIM_MM and away < np.sin(np.radians(ALONG_RIM_DEG)))


def _fold(curve: FoldCurve, photo: Photo, light: Light, origin: Floats, zoom: float) -> Fold:
    points = (curve.points_px + 0.5) / zoom - 0.5 + origin
    points = points if points[0, 1] <= points[-1, 1] else points[::-1]
    x, y = points[-1] - points[0]
    taut = curve.straightness >= STRAIGHT and curve.width_mm <= NARROW_MM
    # a sine wave of that height, twice as long as it is wide at half height, is longer than its chord by (pi h)^2 / (4 wavelength)
    take_up = (np.pi * curve.height_mm) ** 2 / (8 * max(curve.width_mm, WORKING_MM))
    from_aside = light.oblique >= 0.5
    return Fold(
        photo.view,
        curve.kind,
        points,
        curve.length_mm,
        float(np.degrees(np.arctan2(x, max(y, 1e-9)))),
        curve.width_mm,
        curve.height_mm,
        curve.height_mm / UNIT_HEIGHT_MM * curve.length_mm / UNIT_LENGTH_MM,
        "taut" if taut else "loose",
        float(take_up) if from_aside else None,
        float(TAKE_UP_SD * take_up) if from_aside else None,
    )
