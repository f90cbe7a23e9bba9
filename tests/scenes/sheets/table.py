"""The table beneath, the lamp above, and what lies at the edge: wood grain, hands, pins. Table frame: mm, y downwards."""

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from ..mesh import Floats

Surface = Literal["dark", "wood", "light_wood", "cloth"]
SURFACES: tuple[Surface, ...] = ("dark", "wood", "light_wood", "cloth")
PX_PER_MM = 2
THINGS_PX_PER_MM = 4
_COLOURS: dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]] = {  # linear light, between two tones of the grain
    "dark": ((0.020, 0.020, 0.024), (0.032, 0.032, 0.038)),
    "wood": ((0.115, 0.052, 0.020), (0.26, 0.135, 0.058)),
    "light_wood": ((0.30, 0.185, 0.085), (0.47, 0.32, 0.17)),
    "cloth": ((0.045, 0.075, 0.115), (0.075, 0.115, 0.165)),
}
_SKINS = ((0.52, 0.30, 0.21), (0.40, 0.21, 0.13), (0.20, 0.10, 0.06))
_HEADS = ((0.6, 0.03, 0.03), (0.02, 0.1, 0.5), (0.8, 0.75, 0.7))
Light = NDArray[np.float32]


def surface(kind: Surface, wide_mm: float, high_mm: float, rng: np.random.Generator) -> Light:
    """Linear light, shape (H, W, 3), `PX_PER_MM`."""
    width, height = int(wide_mm * PX_PER_MM), int(high_mm * PX_PER_MM)
    y, x = np.mgrid[:height, :width].astype(np.float32) / PX_PER_MM

    def noise(across: float, along: float) -> Light:
        small = rng.normal(0, 1, (int(high_mm / along) + 4, int(wide_mm / across) + 4)).astype(np.float32)
        return np.asarray(cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC))

    if kind in ("wood", "light_wood"):
        rings = np.sin(2 * np.pi * (y / rng.uniform(14, 30) + 0.9 * noise(500, 60)))
        grain = 0.5 + 0.22 * rings + 0.16 * noise(40, 1.2) + 0.07 * noise(8, 0.7)
        joint = np.abs((y - rng.uniform(0, 90)) % rng.uniform(90, 160)) < 0.8
        grain = np.where(joint & (rng.random() < 0.5), grain - 0.5, grain)
    elif kind == "cloth":
        grain = 0.5 + 0.25 * np.sin(2 * np.pi * x / 1.1) * np.sin(2 * np.pi * y / 1.1) + 0.15 * noise(30, 30)
    else:
        grain = 0.5 + 0.3 * noise(2, 2) + 0.3 * noise(150, 150)
    dark, bright = (np.array(tone, np.float32) for tone in _COLOURS[kind])
    return np.asarray(dark + np.clip(grain, -0.2, 1.2)[..., None] * (bright - dark), np.float32)


def things_at_the_edge(
    outline: Floats, hands: int, pins: int, wide_mm: float, high_mm: float, rng: np.random.Generator
) -> tuple[Light, NDArray[np.float32]]:
    """Fingers that hold the sheet down and pins across its edge: linear light (H, W, 3) and cover (H, W), `THINGS_PX_PER_MM`."""
    scale = THINGS_PX_PER_MM
    cover = np.zeros((int(high_mm * scale), int(wide_mm * scale)), np.uint8)
    light = np.zeros((*cover.shape, 3), np.float32)
    inwards = outline.mean(axis=0)
    for _ in range(hands):
        skin = np.array(_SKINS[rng.integers(len(_SKINS))], np.float32)
        at = outline[rng.integers(len(outline))]
        way = (inwards - at) / np.hypot(*(inwards - at))
        aside = np.array([-way[1], way[0]])
        for finger in range(3):
            tip = at + way * rng.uniform(5, 14) + aside * (finger - 1) * 19
            _capsule(cover, light, np.array([tip, at - way * 60 + aside * (finger - 1) * 14]), 8.0, skin, scale)
        _capsule(cover, light, np.array([at - way * 75, at - way * 200]), 30.0, skin, scale)
    for _ in range(pins):
        at = outline[rng.integers(len(outline))]
        way = (inwards - at) / np.hypot(*(inwards - at))
        ends = np.array([at - way * 12, at + way * 16])
        _capsule(cover, light, ends, 0.35, np.array([0.35, 0.35, 0.37], np.float32), scale)
        _capsule(cover, light, ends[:1].repeat(2, 0), 2.0, np.array(_HEADS[rng.integers(len(_HEADS))], np.float32), scale)
    return light, cv2.GaussianBlur(cover, (0, 0), 1.0).astype(np.float32) / 255


def _capsule(cover: NDArray[np.uint8], light: Light, ends: Floats, radius: float, tone: Light, scale: int) -> None:
    own = np.zeros_like(cover)
    one, two = ((int(x * scale), int(y * scale)) for x, y in ends)
    cv2.line(own, one, two, 255, max(1, round(2 * radius * scale)), cv2.LINE_AA)
    depth = cv2.distanceTransform(own, cv2.DIST_L2, 3) / scale
    where = own > 40
    round_off = 0.65 + 0.35 * np.clip(depth / max(radius, 0.5), 0, 1)
    light[where] = (tone * round_off[..., None])[where]
    np.maximum(cover, own, out=cover)


def lamp(points: Floats, at: Floats, height_mm: float, ambient: float) -> Floats:
    """How brightly a table is lit: a lamp above one place and light from all round; shape (N,)."""
    far = ((points - at) ** 2).sum(axis=-1) / height_mm**2
    return np.asarray(ambient + (1 - ambient) / (1 + far) ** 1.5)
