"""Cloth with folds of known place and height, drawn by Lambert's law: light, cloth and forms that no rendered room has.

A flat one shows folds by depth alone (what lies deep is dark: Langer & Zucker 1994, "Shape-from-shading on a cloudy day"), the other is a
trunk with broad forms in slanting light.
"""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.vision.folds.bare_cloth import STEP_MM
from models.folds.distances import NOWHERE, away_px
from tests.scenes.read_truth import HIGH_MM

Floats = NDArray[np.floating[Any]]
LOWEST_MM, HIGHEST_MM = 1.2, 10.0  # of the folds
APART_PX = 22.0 / STEP_MM  # least distance between two lines
DIFFUSE_PER_MM = 0.012  # share of brightness lost per mm of depth
SMOOTH_MM = 25.0  # heights are told over a form as smooth as this, as tests/scenes/fold_truth.py does


@dataclass(frozen=True, slots=True)
class DrawnCloth:
    """A picture of cloth and its truth.

    Attributes
    ----------
    brightness : ndarray, shape (H, W)
        Linear, 0 to 1.
    away_px : ndarray, shape (4, H, W)
        Distances from crests, low crests, hollows and low hollows.
    height_mm : ndarray, shape (H, W)
        Of the cloth over its own smooth form.
    """

    brightness: Floats
    away_px: Floats
    height_mm: Floats


def drawn_cloth(rng: np.random.Generator, shape: tuple[int, int], columns: tuple[int, int]) -> DrawnCloth:
    """One garment.

    Parameters
    ----------
    rng : Generator
    shape : (H, W)
        Of the picture, pixels of STEP_MM.
    columns : (first, last)
        Between which the garment lies: how wide the trunk is.
    """
    rows, cols = shape
    y, x = np.mgrid[:rows, :cols].astype(np.float32)
    folds, away = _folds(rng, shape)
    flat = rng.random() < 0.33
    form = np.zeros(shape, np.float32)
    if not flat or rng.random() < 0.3:
        for _ in range(rng.integers(0, 4)):
            wide = rng.uniform(35, 110) / STEP_MM
            centre = rng.uniform(0, cols), rng.uniform(0, rows)
            form += rng.uniform(-25, 40) * np.exp(-0.5 * ((x - centre[0]) ** 2 + (y - centre[1]) ** 2) / wide**2)
        radius = max((columns[1] - columns[0]) / 2, 20.0) * rng.uniform(1.05, 2.0)
        off = x - sum(columns) / 2
        form -= (radius - np.sqrt(np.maximum(radius**2 - off**2, 0.05 * radius**2))) * STEP_MM * rng.uniform(0.4, 1.0)
    darker = np.exp(rng.uniform(np.log(0.8), np.log(4.0))) if flat else rng.uniform(0.8, 1.3)
    by_depth = 1 + DIFFUSE_PER_MM * darker * folds
    if flat:
        ramp = 1 + rng.normal(0, 0.12) * (2 * x / cols - 1) + rng.normal(0, 0.12) * (2 * y / rows - 1)
        linear = rng.uniform(0.15, 0.6) * by_depth * ramp
    else:
        down, right = np.gradient((form + folds) / STEP_MM)
        slant, way = np.radians(rng.uniform(5, 80)), rng.choice([0, np.pi]) + rng.normal(0, 0.45)
        light = np.array([np.sin(slant) * np.cos(way), -abs(np.sin(slant) * np.sin(way)) - 0.1 * np.sin(slant), np.cos(slant)])
        light /= np.linalg.norm(light)
        cosine = (light[2] - right * light[0] - down * light[1]) / np.sqrt(1 + right**2 + down**2)
        ambient = rng.uniform(0.1, 0.6)
        linear = rng.uniform(0.25, 0.7) * ((1 - ambient) * np.maximum(cosine, 0) + ambient * by_depth)
    grey = 255 * np.clip(linear, 1e-3, 1) ** (1 / 2.2)
    grey += rng.normal(0, 1, shape) * rng.uniform(0.1, 1.0)
    grey += rng.uniform(0, 0.6) * np.sin(x * rng.uniform(0.3, 3)) * np.sin(y * rng.uniform(0.3, 3))  # a weave
    smooth = cv2.GaussianBlur(folds, (0, 0), SMOOTH_MM / STEP_MM)
    return DrawnCloth(((np.clip(grey, 1, 255) / 255) ** 2.2).astype(np.float32), away, folds - smooth)


def _folds(rng: np.random.Generator, shape: tuple[int, int]) -> tuple[Floats, Floats]:
    """Heights of up to eight folds that keep clear of each other, and the distances from their lines."""
    height, away = np.zeros(shape, np.float32), np.full((4, *shape), NOWHERE, np.float32)
    taken = np.full(shape, NOWHERE, np.float32)
    for _ in range(rng.integers(0, 9)):
        off = away_px([_curve(rng, shape)], shape)
        if (np.minimum(taken, APART_PX) + off < APART_PX).any():
            continue
        taken = np.minimum(taken, off)
        wide = rng.uniform(4.5, 13) / STEP_MM
        high = np.exp(rng.uniform(np.log(LOWEST_MM), np.log(HIGHEST_MM)))
        up = rng.random() < 0.5
        height += (high if up else -high) * np.exp(-0.5 * (off / wide) ** 2)
        kind = (0 if up else 2) + (0 if high >= HIGH_MM else 1)
        away[kind] = np.minimum(away[kind], off)
    return cv2.GaussianBlur(height, (0, 0), 1.2), away


def _curve(rng: np.random.Generator, shape: tuple[int, int]) -> Floats:
    length, way = rng.uniform(70, 260) / STEP_MM, rng.uniform(0, np.pi)
    bend = rng.normal(0, 0.6) / length * (rng.random() < 0.6)
    along = np.linspace(-0.5, 0.5, 40) * length
    angle = way + bend * along
    points = np.cumsum(np.stack([np.cos(angle), np.sin(angle)], 1) * (along[1] - along[0]), axis=0)
    return np.asarray(points - points.mean(0) + rng.uniform(0.12, 0.88, 2) * shape[::-1])
