"""Photographed garments put on a drawn wearer, with or without pen lines: pictures for `real.py` and for learning what pen is.

A garment hung up or laid flat is cut out of its photo and laid over the drawn wearer's own cloth, in the scale of her trunk, in her
light. So cloth, prints, stripes, pockets, plackets and creases are real; body, card, stickers and room are those of the drawn fitting,
whose truth says where pen lines run when some are drawn.
"""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.records import Pose
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.cloth.log_colour import COLOUR_WEIGHTS, log_colour

CUT_ROUNDS, MARGIN = 3, 0.04  # of the cutting out; border of a photo that is surely no garment
TRUNK_SHARE = 40.0  # percentile of a garment's widths, row by row, that its trunk has at most: sleeves lie above, flares below
SHADE_PX = 41  # of the median that leaves folds and roundness of the drawn cloth, and no line
RIM_PX = 12.0  # how far the drawn wearer's stickers are kept beyond their squares, as a share of 100 px of square
JPEG, GRAIN = 90, 2.0  # quality; noise in grey levels
PENS = {"black": (35, 35, 40), "red": (190, 25, 35), "blue": (30, 60, 170), "green": (20, 120, 60), "purple": (110, 40, 130),
        "white": (240, 240, 235), "yellow": (235, 215, 60)}  # fmt: skip
PEN_MM, OPAQUE = (1.0, 3.2), (0.7, 0.95)  # width and cover of pen lines
TREMBLE_MM, TREMBLE_OVER_MM = 0.5, 25.0  # a hand's
FINE = 4  # lines are drawn this much larger, then reduced
GARMENT_MM = 480.0  # half round of a garment laid flat
DARK = 25.0  # grey levels added before the logarithm is taken: noise of dark cloth is no pattern
PATTERN, PATTERN_MM, CELL_MM = 0.15, 12.0, 1.5  # log colour off the mean over so many mm that is pattern; looked at in such cells
PATTERNED, STRIPED = 0.18, 0.5  # share of a garment from which it is patterned; share of slopes one way or level from which it is striped


@dataclass(frozen=True)
class CutOut:
    """A garment cut out of its photo."""

    rgb: NDArray[np.uint8]
    mask: NDArray[np.bool_]
    middle_px: float
    top_px: float
    bottom_px: float
    width_px: float


def cut_out(rgb: NDArray[np.uint8]) -> CutOut:
    """The garment in the middle of a photo (GrabCut, begun with all but the border)."""
    high, wide = rgb.shape[:2]
    mask = np.zeros((high, wide), np.uint8)
    box = (int(MARGIN * wide), int(MARGIN * high), int((1 - 2 * MARGIN) * wide), int((1 - 2 * MARGIN) * high))
    cv2.setRNGSeed(0)
    cv2.grabCut(rgb, mask, box, np.zeros((1, 65)), np.zeros((1, 65)), CUT_ROUNDS, cv2.GC_INIT_WITH_RECT)
    found = ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).astype(np.uint8)
    found = cv2.morphologyEx(found, cv2.MORPH_CLOSE, np.ones((9, 9), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(found)
    largest = labels == 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax()) if len(stats) > 1 else np.ones_like(found, bool)
    if largest.mean() < 0.15:
        largest = np.zeros_like(largest)
        largest[box[1] : box[1] + box[3], box[0] : box[0] + box[2]] = True
    rows = np.flatnonzero(largest.sum(1) > 0.1 * wide)
    widths = largest[rows].sum(1)
    width = float(min(np.percentile(widths, TRUNK_SHARE), np.median(widths[len(widths) * 2 // 3 :])))
    columns = np.flatnonzero(largest.any(0))
    middle = float(np.median(np.nonzero(largest)[1])) if len(columns) else wide / 2
    return CutOut(rgb, largest, middle, float(rows[0]), float(rows[-1]), width)


def pattern_of(garment: CutOut) -> str:
    """plain, striped (checks too) or print, by how much of the garment is off its own mean colour nearby, and which way that runs."""
    zoom = GARMENT_MM / garment.width_px / CELL_MM
    small = cv2.resize(garment.rgb, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_AREA)
    inside = cv2.resize(garment.mask.astype(np.uint8), small.shape[1::-1], interpolation=cv2.INTER_NEAREST)
    inside = cv2.erode(inside, np.ones((9, 9), np.uint8)).astype(np.float32)
    colour = np.log(small.astype(np.float32) + DARK)
    sigma = PATTERN_MM / CELL_MM
    weight = np.maximum(cv2.GaussianBlur(inside, (0, 0), sigma), 1e-3)
    mean = cv2.GaussianBlur(colour * inside[..., None], (0, 0), sigma) / weight[..., None]
    away = np.linalg.norm(colour - mean, axis=2) / np.sqrt(3)
    here = inside > 0
    if not here.any():
        return "plain"
    share = float((away[here] > PATTERN).mean())
    if share < PATTERNED:
        return "plain"
    along = [cv2.Sobel(cv2.GaussianBlur(colour, (0, 0), 1.0), cv2.CV_32F, dx, 1 - dx) for dx in (0, 1)]
    size = [np.linalg.norm(slope, axis=2)[here] for slope in along]
    strong = np.hypot(*size) > np.percentile(np.hypot(*size), 60)
    angle = np.degrees(np.arctan2(size[0][strong], size[1][strong]))  # 0: edges upright, 90: edges level
    straight = float(((angle < 20) | (angle > 70)).mean())
    return "striped" if straight > STRIPED + 0.15 else "print"


def dressed(
    photo: NDArray[np.uint8], pose: Pose, stickers: list[NDArray[np.floating[Any]]], garment: CutOut, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """A drawn photo with the wearer's cloth replaced by the garment; stickers (corners, px) stay on top."""
    cloth = find_cloth(photo, pose)
    x0, y0, x1, y1 = cloth.box_px
    own = np.zeros(photo.shape[:2], np.float32)
    own[y0:y1, x0:x1] = cv2.resize(cloth.mask.astype(np.float32), (x1 - x0, y1 - y0), interpolation=cv2.INTER_LINEAR)
    own = cv2.morphologyEx((own > 0.5).astype(np.uint8), cv2.MORPH_CLOSE, np.ones((41, 41), np.uint8)).astype(np.float32)
    rows = np.flatnonzero(own.any(1))
    widths = own[rows].sum(1)
    across, high = float(np.percentile(widths, 75)), float(rows[-1] - rows[0])
    middle = float(np.median(np.nonzero(own)[1]))
    zoom = max(across / garment.width_px, high / (garment.bottom_px - garment.top_px)) * rng.uniform(1.0, 1.12)
    to_photo = np.array([[zoom, 0, middle - zoom * garment.middle_px], [0, zoom, rows[0] - zoom * garment.top_px - 0.02 * high]])
    filled = _filled(garment)
    worn = cv2.warpAffine(filled, to_photo, photo.shape[1::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT)
    shade = _shade(photo)
    light = shade / max(float(np.median(shade[own > 0])), 1.0)
    cover = cv2.GaussianBlur(own, (0, 0), 1.0)[..., None]
    bright = np.clip(worn.astype(np.float32) * np.clip(light, 0.3, 1.5)[..., None], 0, 255)
    out = photo * (1 - cover) + bright * cover
    kept = np.zeros(photo.shape[:2], np.uint8)
    for corners in stickers:
        centre = corners.mean(0)
        cv2.fillPoly(kept, [np.round(centre + (1 + 2 * RIM_PX / 100) * (corners - centre)).astype(np.int32)], 255)
    keep = cv2.GaussianBlur(kept, (0, 0), 0.7)[..., None] / np.float32(255)
    return np.asarray(out * (1 - keep) + photo * keep, np.uint8)


def _shade(photo: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Grey levels without lines; looked at at a quarter of the size, which is enough."""
    small = cv2.resize(cv2.cvtColor(photo, cv2.COLOR_RGB2GRAY), None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    blurred = cv2.medianBlur(small, SHADE_PX // 4 | 1)
    return np.asarray(cv2.resize(blurred, photo.shape[1::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def _filled(garment: CutOut) -> NDArray[np.uint8]:
    """The garment's photo with its surroundings replaced by the cloth nearest to them."""
    inside = cv2.erode(garment.mask.astype(np.uint8), np.ones((5, 5), np.uint8))
    if not inside.any():
        return garment.rgb
    _, labels = cv2.distanceTransformWithLabels(1 - inside, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
    at = np.zeros(int(labels.max()) + 1, np.int64)
    flat = np.flatnonzero(inside)
    at[labels.ravel()[flat]] = flat
    spread = garment.rgb.reshape(-1, 3)[at[labels]]
    soft = cv2.GaussianBlur(spread, (0, 0), 6.0)  # else streaks run outwards from every print
    return np.asarray(np.where(inside[..., None] > 0, garment.rgb, soft), np.uint8)


def pens_for(photo: NDArray[np.uint8], where: NDArray[np.bool_], lines: int, rng: np.random.Generator) -> list[tuple[int, ...]]:
    """A pen for each line: one for all of the two that differ most from what lies under them, or, as often, one each of the best four."""
    cloth = log_colour(photo)[where][:: max(1, int(where.sum()) // 4000)] * COLOUR_WEIGHTS
    inks = np.array(list(PENS.values()), np.uint8)[None]
    apart = [float(np.percentile(np.linalg.norm(cloth - ink * COLOUR_WEIGHTS, axis=1), 25)) for ink in log_colour(inks)[0]]
    best = np.argsort(apart)
    chosen = rng.choice(best[-4:], lines) if rng.uniform() < 0.5 else np.full(lines, rng.choice(best[-2:]))
    return [tuple(int(v) for v in inks[0, i]) for i in chosen]


def with_lines(
    photo: NDArray[np.uint8],
    lines: list[NDArray[np.floating[Any]]],
    pens: list[tuple[int, ...]],
    mm_per_px: float,
    hidden: list[NDArray[np.floating[Any]]],
    rng: np.random.Generator,
) -> NDArray[np.uint8]:
    """Pen lines drawn by hand on a photo's cloth, in its light."""
    out = photo.astype(np.float32)
    light = _shade(photo)
    width, cover = rng.uniform(*PEN_MM) / mm_per_px, rng.uniform(*OPAQUE)
    for line, pen in zip(lines, pens, strict=True):
        wander = rng.normal(0, 1, (len(line), 2))
        step = float(np.hypot(*np.diff(line, axis=0).T).mean()) * mm_per_px
        wander = cv2.GaussianBlur(wander, (1, 0 or 2 * int(3 * TREMBLE_OVER_MM / step) + 1), 0, sigmaY=TREMBLE_OVER_MM / step)
        wander *= TREMBLE_MM / mm_per_px / max(float(wander.std()), 1e-6)
        at = np.round(((line + wander + 0.5) * FINE - 0.5) * 256).astype(np.int32)
        x0, y0 = np.maximum(np.floor(line.min(0)).astype(int) - 12, 0)
        x1, y1 = np.ceil(line.max(0)).astype(int) + 12
        x1, y1 = min(int(x1), photo.shape[1]), min(int(y1), photo.shape[0])
        drawn = np.zeros(((y1 - y0) * FINE, (x1 - x0) * FINE), np.uint8)
        origin = np.array([x0, y0]) * FINE * 256
        cv2.polylines(drawn, [(at - origin).astype(np.int32).reshape(-1, 1, 2)], False, 255, max(1, round(width * FINE)), cv2.LINE_8, 8)
        share = cv2.GaussianBlur(cv2.resize(drawn, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA), (0, 0), 0.7)
        share = share.astype(np.float32)[..., None] / 255 * cover
        for corners in hidden:
            stuck = np.zeros(share.shape[:2], np.uint8)
            centre = corners.mean(0)
            cv2.fillPoly(stuck, [np.round(centre + (1 + 2 * RIM_PX / 100) * (corners - centre) - [x0, y0]).astype(np.int32)], 1)
            share[stuck > 0] = 0
        part = out[y0:y1, x0:x1]
        lit = (
            np.array(pen, np.float32) * np.clip(light[y0:y1, x0:x1] / max(float(np.median(light[y0:y1, x0:x1])), 1.0), 0.6, 1.3)[..., None]
        )
        part += share * (lit - part)
    return np.asarray(np.clip(out, 0, 255), np.uint8)


def taken(rgb: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    """As a camera keeps it: grain and JPEG."""
    grainy = np.clip(rgb + rng.normal(0, GRAIN, rgb.shape), 0, 255).astype(np.uint8)
    kept = cv2.imencode(".jpg", grainy[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, JPEG])[1]
    return np.ascontiguousarray(cv2.imdecode(kept, cv2.IMREAD_COLOR)[..., ::-1])
