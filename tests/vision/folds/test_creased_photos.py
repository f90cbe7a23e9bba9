"""Packet creases and crumples drawn on the cloth of photographed fittings, read by the whole chain from photo to folds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest

from fitcheck.core.camera import Photo
from fitcheck.core.folds import Fold
from fitcheck.core.records import Pose, View
from fitcheck.photo.card.scale import scales_from_cards
from fitcheck.photo.load import load_photo
from fitcheck.vision.cloth.find_cloth import find_cloth
from fitcheck.vision.folds.bare_cloth import bare_cloth
from fitcheck.vision.folds.fold_maps import fold_maps
from fitcheck.vision.folds.trace_folds import BESIDE_MM, find_folds
from fitcheck.vision.lines.seams import find_seams
from fitcheck.vision.person.pose import find_people
from fitcheck.vision.stickers.find_stickers import find_point_markers

SAMPLES = Path(__file__).parents[3] / "sample_images"
PHOTOS: list[tuple[str, View]] = [("control", "front"), ("control", "back"), ("forward_shoulder", "front"), ("forward_shoulder", "back")]
LAYOUTS = [(120.0, 3.0), (120.0, -8.0), (150.0, 3.0), (150.0, -8.0)]  # spacing in mm, turn in degrees
WHOLE_MM = 60.0  # so long a fold must be found, as in tests/benchmarks/folds.py
START_MM = (60.0, 40.0)  # where the first crease of each direction lies


@dataclass(frozen=True)
class Fitting:
    photo: Photo
    pose: Pose
    mm_per_px: float
    on_cloth: np.ndarray  # (H, W) of bool


@cache
def fitting(scene: str, view: View) -> Fitting:
    photo = load_photo(SAMPLES / scene / f"{view}.jpg", view)
    (scale,), pose = scales_from_cards([photo], 100.0), find_people(photo)
    assert scale is not None
    assert pose is not None
    cloth = find_cloth(photo.rgb, pose)
    x0, y0, x1, y1 = cloth.box_px
    on_cloth = np.zeros(photo.rgb.shape[:2], bool)
    on_cloth[y0:y1, x0:x1] = cv2.resize(cloth.mask.astype(np.uint8), (x1 - x0, y1 - y0), interpolation=cv2.INTER_NEAREST) > 0
    # to a hundredth: what is drawn must not change with the last digit that the card is read to
    return Fitting(photo, pose, round(scale.mm_per_px, 2), on_cloth)


def read(fit: Fitting, light: np.ndarray | float = 1.0, noise: float = 0.0) -> tuple[tuple[Fold, ...], tuple[str, ...]]:
    """Folds and flags of a photo whose cloth is so much lighter or darker, and which has noise of so many grey levels."""
    shade = np.where(fit.on_cloth, light, 1.0)[..., None] ** (1 / 2.2)
    rgb = fit.photo.rgb * shade + np.random.default_rng(1).normal(0, noise, fit.photo.rgb.shape)
    photo = replace(fit.photo, rgb=rgb.clip(0, 255).round().astype(np.uint8))
    cloth, stickers = find_cloth(photo.rgb, fit.pose), find_point_markers(photo, pose=fit.pose)
    seams = find_seams(photo, fit.pose, stickers, fit.mm_per_px, cloth)
    bare = bare_cloth(photo, cloth, stickers, seams, fit.mm_per_px)
    maps = fold_maps(bare)
    assert maps is not None
    return find_folds(photo.view, bare, maps)


def off_creases(x: np.ndarray, y: np.ndarray, spacing: float, turn_deg: float) -> list[np.ndarray]:
    """Signed distances from the nearest crease of each direction, mm; neighbours are folded contrariwise."""
    a = np.radians(turn_deg)
    away = []
    for along, first in ((x * np.cos(a) + y * np.sin(a), START_MM[0]), (y * np.cos(a) - x * np.sin(a), START_MM[1])):
        number = np.round((along - first) / spacing)
        away.append((along - first - number * spacing) * np.where(number % 2 > 0, 1, -1))
    return away


def packet(fit: Fitting, contrast: float, width_mm: float, layout: tuple[float, float]) -> np.ndarray:
    """Creases bright on one flank and dark on the other, so wide in all."""
    y, x = np.mgrid[: fit.on_cloth.shape[0], : fit.on_cloth.shape[1]] * fit.mm_per_px
    flanks = [off / (width_mm / 4) for off in off_creases(x, y, *layout)]
    return np.asarray(1 + contrast * sum(u * np.exp(0.5 - 0.5 * u**2) for u in flanks))


def beside_creases(fit: Fitting, fold: Fold, layout: tuple[float, float]) -> float:
    """The share of a fold that lies beside creases of one direction."""
    return max(float((np.abs(off) < BESIDE_MM).mean()) for off in off_creases(*(fold.points_px.T * fit.mm_per_px), *layout))


def among(fit: Fitting, fold: Fold, others: Sequence[Fold]) -> bool:
    """Whether one of the others is the same fold."""
    same = [other.points_px for other in others if other.kind == fold.kind]
    gaps = [np.hypot(*(fold.points_px[:, None] - points[None]).transpose(2, 0, 1)).min(1) * fit.mm_per_px for points in same]
    return any((gap < 8.0).mean() > 0.7 for gap in gaps)


def crumples(fit: Fitting, contrast: float, seed: int) -> np.ndarray:
    """Short straight ridges and hollows all over, one on every 830 mm2."""
    rng = np.random.default_rng(seed)
    fine = 2.0  # mm a pixel of the drawing
    rows, cols = (int(size * fit.mm_per_px / fine) for size in fit.on_cloth.shape)
    y, x = np.mgrid[-45:46, -45:46]
    drawn = np.zeros((rows + 90, cols + 90), np.float32)
    for _ in range(int(rows * cols * fine**2 / 830)):
        row, col, angle, half = rng.integers(rows), rng.integers(cols), rng.uniform(0, np.pi), rng.uniform(25, 60) / 2 / fine
        along, across = x * np.cos(angle) + y * np.sin(angle), y * np.cos(angle) - x * np.sin(angle)
        ridge = np.exp(-0.5 * (across * fine / 2.5) ** 2) / (1 + np.exp(np.abs(along) - half))
        drawn[row : row + 91, col : col + 91] += rng.choice([-1, 1]) * rng.uniform(0.5, 1) * ridge
    return np.maximum(1 + contrast * cv2.resize(drawn[45:-45, 45:-45], fit.on_cloth.shape[::-1]), 0.1)


@pytest.mark.parametrize(("scene", "view"), PHOTOS)
def test_cloth_as_it_is_has_neither(scene: str, view: View) -> None:
    assert read(fitting(scene, view))[1] == ()


@pytest.mark.parametrize(("scene", "view"), PHOTOS)
def test_creases_of_the_packet_are_known_and_are_no_folds(scene: str, view: View) -> None:
    fit = fitting(scene, view)
    smooth = read(fit)[0]
    known = 0
    for layout in LAYOUTS:
        folds, flags = read(fit, packet(fit, 0.08, 5.0, layout))
        assert "cloth_crumpled" not in flags
        known += flags == ("packet_creases",)
        assert all(beside_creases(fit, fold, layout) < 0.5 or among(fit, fold, smooth) for fold in folds)
        long = [fold for fold in smooth if fold.length_mm >= WHOLE_MM]
        assert all(among(fit, fold, folds) for fold in long if beside_creases(fit, fold, layout) < 0.3)
    assert known >= 3, "in one layout of the four too few creases may be in sight"


def test_creases_that_would_be_read_as_folds_are_left_out() -> None:
    fit, layout = fitting("forward_shoulder", "front"), LAYOUTS[0]
    folds, flags = read(fit, packet(fit, 0.30, 12.0, layout))
    assert flags == ("packet_creases",)
    assert len(folds) > 3
    assert sum(beside_creases(fit, fold, layout) > 0.8 for fold in folds) <= 1


@pytest.mark.parametrize(("scene", "view"), PHOTOS)
def test_crumpled_tissue_is_not_read(scene: str, view: View) -> None:
    fit = fitting(scene, view)
    assert read(fit, crumples(fit, 0.10, 3)) == ((), ("cloth_crumpled",))


def test_a_noisy_photo_is_not_crumpled() -> None:
    assert read(fitting("forward_shoulder", "front"), noise=8.0)[1] == ()
